"""A copy of the whole database, made while it is in use."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pupilage.settings.environment import data_folder
from pupilage.storage.backup import copy_database
from pupilage.storage.database import open_database, require_sqlite_file

BACKUP_FOLDER = "backups"


@dataclass(frozen=True)
class Backup:
    """Where a backup was written, and its size in bytes."""

    file: Path
    n_bytes: int


def back_up(target: Path | None = None, *, now: datetime) -> Backup:
    """Copy the database to a new file, by default a dated one in the data folder. Nothing is overwritten.

    Who may: the command line on the machine itself. Raises StorageTrouble or Conflict, and then leaves no file.
    """
    source = require_sqlite_file("pg_dump")
    open_database()
    file = target or data_folder() / BACKUP_FOLDER / f"pupilage-{now:%Y%m%d-%H%M%S}.sqlite3"
    copy_database(source, file)
    return Backup(file, file.stat().st_size)
