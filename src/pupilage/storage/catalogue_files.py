"""The trainer's own additions to the catalogue: TOML files in the folder `catalogue` of the data folder."""

from functools import lru_cache
from pathlib import Path

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.loading import SourceText, catalogue_from, load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.settings.environment import data_folder


def load_catalogue() -> Catalogue:
    """Return our catalogue with the trainer's own files over it; read again only when a file changed."""
    folder = data_folder() / "catalogue"
    files = tuple(sorted((file, file.stat().st_mtime_ns) for file in folder.glob("*.toml")))
    return _load(files) if files else load_bundled()


@lru_cache(maxsize=4)
def _load(files: tuple[tuple[Path, int], ...]) -> Catalogue:
    return catalogue_from([_read(file) for file, _ in files])


def _read(file: Path) -> SourceText:
    try:
        return SourceText(file.name, file.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise InvalidInput.of(
            file.name, "This file is not UTF-8 at byte {byte}; save it as UTF-8.", byte=error.start
        ) from error
