"""Static files under names that change with their contents, the modules that a script imports included."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):
    """Rewrites `import … from "./part.js"` in our own scripts: a phone must never run parts of two versions together.

    Another library's scripts import what it does not ship, and are left as they are.
    """

    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        ("pupilage/*.js", CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns[1]),
    )
