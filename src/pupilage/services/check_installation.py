"""Is everything in order: the folder, the database, its settings, the clock, the catalogue."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from pathlib import Path
from uuid import uuid4

from django.db import Error

from pupilage.core.clock import find_zone
from pupilage.core.errors import PupilageError
from pupilage.core.words import Sentence, sentence
from pupilage.settings.environment import SQLITE_WAIT_S, data_folder
from pupilage.storage.catalogue_files import read_catalogue
from pupilage.storage.database import find_database_file, missing_migrations, read_settings, require_whole
from pupilage.storage.exposure_files import read_exposure_files
from pupilage.storage.models import AuditEntry, CareEvent, ExposureEvent, SessionEvent, Workspace
from pupilage.storage.troubles import explain

MIN_FREE_BYTES = 200 * 1024 * 1024
CLOCK_SLACK = timedelta(minutes=5)
EARLIEST = datetime(2025, 1, 1, tzinfo=UTC)
LATEST = datetime(2100, 1, 1, tzinfo=UTC)

EXPECTED_SETTINGS = {
    "journal_mode": "wal",
    "synchronous": 2,
    "busy_timeout": SQLITE_WAIT_S * 1000,
    "transaction_mode": "IMMEDIATE",
    "atomic_requests": False,
}
"""Measured to lose and refuse nothing; see docs/decisions. Each is also read back by a test."""


class Result(StrEnum):
    """How a check went: fine, worth a look, or in need of repair."""

    FINE = "fine"
    LOOK = "look"
    REPAIR = "repair"


@dataclass(frozen=True)
class Check:
    """One thing that was looked at."""

    name: str
    result: Result
    finding: Sentence


def check_installation(*, now: datetime) -> list[Check]:
    """Look at everything and return what was found; a check that fails does not stop the next.

    Who may: the command line on the machine itself. Writes nothing but a file of a moment in the data folder.
    """
    looks: tuple[tuple[str, Callable[[datetime], Iterator[Check]]], ...] = (
        ("folder", _check_folder),
        ("database", _check_database),
        ("settings", _check_settings),
        ("clock", _check_clock),
        ("catalogue", _check_catalogue),
        ("exposures", _check_exposures),
    )
    return [check for name, look in looks for check in _guarded(name, look, now)]


def _guarded(name: str, look: Callable[[datetime], Iterator[Check]], now: datetime) -> Iterator[Check]:
    try:
        yield from look(now)
    except (PupilageError, OSError, Error) as error:
        trouble = error if isinstance(error, PupilageError) else explain(error, find_database_file() or "")
        found = trouble.sentence if trouble else sentence("{error}", error=str(error))
        yield Check(name, Result.REPAIR, found)


def _check_folder(_now: datetime) -> Iterator[Check]:
    folder = data_folder()
    folder.mkdir(parents=True, exist_ok=True)
    probe = folder / f".probe-{uuid4().hex[:8]}"
    probe.write_bytes(b"written")
    probe.unlink()
    yield Check("folder", Result.FINE, sentence("{folder} may be written to.", folder=str(folder)))
    yield _check_space(folder)


def _check_space(folder: Path) -> Check:
    free_mib = shutil.disk_usage(folder).free / 2**20
    if free_mib * 2**20 < MIN_FREE_BYTES:
        found = sentence("Only {free:.0f} MiB are free; make room before the next session.", free=free_mib)
        return Check("space", Result.LOOK, found)
    return Check("space", Result.FINE, sentence("{free:.0f} MiB are free.", free=free_mib))


def _check_database(_now: datetime) -> Iterator[Check]:
    file = find_database_file()
    if file is not None:
        if not file.exists():
            found = sentence("There is none at {file} yet; `pupilage serve` makes it.", file=str(file))
            yield Check("database", Result.LOOK, found)
            return
        require_whole(file)
        yield Check("database", Result.FINE, sentence("{file} is whole.", file=str(file)))
    missing = missing_migrations()
    if missing:
        found = sentence("{n} changes to the tables are missing; `pupilage serve` makes them.", n=len(missing))
        yield Check("migrations", Result.REPAIR, found)
    else:
        yield Check("migrations", Result.FINE, sentence("The tables are up to date."))


def _check_settings(_now: datetime) -> Iterator[Check]:
    file = find_database_file()
    if file is None or not file.exists():
        return
    read = read_settings()
    wrong = [name for name, wanted in EXPECTED_SETTINGS.items() if read[name] != wanted]
    for name in wrong:
        found = sentence(
            "{name} is {given}, not {wanted}; start Pupilage with its own settings.",
            name=name,
            given=str(read[name]),
            wanted=str(EXPECTED_SETTINGS[name]),
        )
        yield Check("settings", Result.REPAIR, found)
    if not wrong:
        yield Check("settings", Result.FINE, sentence("SQLite writes are queued and reach the disk."))


def _check_clock(now: datetime) -> Iterator[Check]:
    if not EARLIEST <= now <= LATEST:
        found = sentence("The clock says {now}; set it.", now=f"{now:%Y-%m-%d}")
        yield Check("clock", Result.REPAIR, found)
        return
    yield Check("clock", Result.FINE, sentence("The clock says {now} UTC.", now=f"{now:%Y-%m-%d %H:%M}"))
    if _has_tables():
        yield from _check_records_clock(now)


def _has_tables() -> bool:
    file = find_database_file()
    return (file is None or file.exists()) and not missing_migrations()


def _check_records_clock(now: datetime) -> Iterator[Check]:
    for name, timezone in Workspace.objects.values_list("name", "timezone"):
        find_zone(timezone)
        found = sentence("“{name}” keeps its days in {timezone}.", name=name, timezone=timezone)
        yield Check("time zone", Result.FINE, found)
    newest = [
        model._default_manager.order_by("-at").values_list("at", flat=True).first()
        for model in (SessionEvent, CareEvent, ExposureEvent, AuditEntry)
    ]
    latest = max((at for at in newest if at is not None), default=None)
    if latest is not None and latest > now + CLOCK_SLACK:
        found = sentence(
            "The newest entry is of {latest} UTC, in the future; the clock of this machine or of a phone is wrong.",
            latest=f"{latest:%Y-%m-%d %H:%M}",
        )
        yield Check("entries", Result.LOOK, found)


def _check_catalogue(_now: datetime) -> Iterator[Check]:
    reading = read_catalogue()
    for problem in reading.problems:
        yield Check(
            "catalogue", Result.REPAIR, sentence("{problem} None of your own files is used.", problem=str(problem))
        )
    catalogue = reading.catalogue
    found = sentence(
        "{n} behaviours and {unwanted} unwanted behaviours are loaded.",
        n=len(catalogue.behaviours),
        unwanted=len(catalogue.unwanted),
    )
    yield Check("catalogue", Result.FINE, found)


def _check_exposures(_now: datetime) -> Iterator[Check]:
    reading = read_exposure_files()
    for problem in reading.problems:
        yield Check(
            "exposures", Result.REPAIR, sentence("{problem} None of your own files is used.", problem=str(problem))
        )
    found = sentence("{n} things to meet are loaded.", n=len(reading.catalogue.items))
    yield Check("exposures", Result.FINE, found)
