"""Data into PDF/A-2a by typst: tagged, with its fonts inside, and the same bytes for the same data."""

import json
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from pupilage.reports.pack.drawable import LOST, fit
from pupilage.reports.pack.options import Language

STANDARD: Literal["a-2a"] = "a-2a"
"""ISO 19005-2, level A: all of level B, and tagged, so that it can be read aloud and kept."""


def typeset(data: dict[str, Any], template: str = "pack") -> bytes:
    """Return the PDF. Parameters: data of `contents.Contents`; texts are printed as they are, never as markup.

    template: `pack`, or `record` for the report to a veterinarian.
    """
    import typst  # 40 MB of fonts and compiler: only what prints waits for it

    return bytes(typst.compile(_template(template), format="pdf", sys_inputs=_inputs(data), pdf_standards=[STANDARD]))


def draw_pages(data: dict[str, Any], template: str = "pack", *, ppi: float = 80.0) -> list[bytes]:
    """Return the pages as PNG pictures, to be looked at."""
    import typst

    made: Any = typst.compile(_template(template), format="png", sys_inputs=_inputs(data), ppi=ppi)
    return made if isinstance(made, list) else [made]


def _template(name: str) -> bytes:
    """Return a template with the blocks that every printed thing is made of before it."""
    folder = files("pupilage.reports.pack") / "templates"
    return (folder / "blocks.typ").read_bytes() + (folder / f"{name}.typ").read_bytes()


def _inputs(data: dict[str, Any]) -> dict[str, str]:
    fitted = fit(data, can_draw, named=data["language"] == Language.EN)
    named = _named(fitted.data) if fitted.data["dog"].strip() in ("", LOST) else fitted.data
    return {"pack": json.dumps({**named, "missing": list(fitted.missing)})}


def _named(data: dict[str, Any]) -> dict[str, Any]:
    """Return a pack whose name could not be drawn at all under a plain one: a mark is no heading."""
    return {**data, "dog": data["nameless"], "title": data["title"].replace(LOST, data["nameless"])}


@cache
def can_draw(text: str) -> bool:
    """Return whether some font of typst or of this machine has every sign of a text: PDF/A refuses the others."""
    import typst

    probe = b"#set document(date: datetime(year: 2000, month: 1, day: 1), title: [x])\n#text(sys.inputs.text)"
    try:
        typst.compile(probe, format="pdf", sys_inputs={"text": text}, pdf_standards=["a-2b"])
    except typst.TypstError:
        return False
    return True
