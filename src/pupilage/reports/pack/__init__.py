"""The hand-over pack as PDF/A: what a family keeps. In: core's facts. Out: bytes.

`sections` say it in the family's language, `figures` keep where every number comes from, `typesetting` prints it. The
texts reach typst as JSON data and never as markup, so that nothing that somebody typed can be read as a command.
"""
