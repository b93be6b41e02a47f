"""The trainer's own additions to what there is to meet: TOML files in the folder `exposures` of the data folder."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pupilage.core.care.exposures.item import ExposureCatalogue
from pupilage.core.care.exposures.loading import exposures_from, load_exposures
from pupilage.core.errors import InvalidInput, Problem
from pupilage.settings.environment import data_folder
from pupilage.storage.catalogue_files import read_source


@dataclass(frozen=True)
class ExposureReading:
    """The list in use, and what is wrong with the trainer's own files; then none of them is used."""

    catalogue: ExposureCatalogue
    problems: tuple[Problem, ...] = ()


def read_exposure_files() -> ExposureReading:
    """Return our list with the trainer's own files over it; read again only when a file changed.

    A faulty file must not keep anybody from writing a meeting down: then ours is used alone, and the problems say why.
    """
    folder = data_folder() / "exposures"
    files = tuple(sorted((file, file.stat().st_mtime_ns) for file in folder.glob("*.toml")))
    return _read_all(files) if files else ExposureReading(load_exposures())


@lru_cache(maxsize=4)
def _read_all(files: tuple[tuple[Path, int], ...]) -> ExposureReading:
    try:
        return ExposureReading(exposures_from([read_source(file) for file, _ in files]))
    except InvalidInput as error:
        return ExposureReading(load_exposures(), error.problems)
