"""The trainer's own additions to the catalogue: TOML files in the folder `catalogue` of the data folder."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.loading import SourceText, catalogue_from, load_bundled
from pupilage.core.errors import InvalidInput, Problem
from pupilage.settings.environment import data_folder


@dataclass(frozen=True)
class CatalogueReading:
    """The catalogue in use, and what is wrong with the trainer's own files; then none of them is used."""

    catalogue: Catalogue
    problems: tuple[Problem, ...] = ()


def load_catalogue() -> Catalogue:
    """Return the catalogue in use."""
    return read_catalogue().catalogue


def read_catalogue() -> CatalogueReading:
    """Return our catalogue with the trainer's own files over it; read again only when a file changed.

    A faulty file must not keep anybody from training: then ours is used alone, and the problems say why.
    """
    folder = data_folder() / "catalogue"
    files = tuple(sorted((file, file.stat().st_mtime_ns) for file in folder.glob("*.toml")))
    return _read_all(files) if files else CatalogueReading(load_bundled())


@lru_cache(maxsize=4)
def _read_all(files: tuple[tuple[Path, int], ...]) -> CatalogueReading:
    try:
        return CatalogueReading(catalogue_from([read_source(file) for file, _ in files]))
    except InvalidInput as error:
        return CatalogueReading(load_bundled(), error.problems)


def read_source(file: Path) -> SourceText:
    """Return a trainer's file as a source. Raises InvalidInput for one that cannot be read."""
    try:
        return SourceText(file.name, file.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise InvalidInput.of(
            file.name, "This file is not UTF-8 at byte {byte}; save it as UTF-8.", byte=error.start
        ) from error
    except OSError as error:
        raise InvalidInput.of(
            file.name, "This file cannot be read ({why}); check its permissions.", why=str(error.strerror)
        ) from error
