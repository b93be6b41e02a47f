"""Putting a backup in the place of the database."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from pupilage.storage.backup import copy_database, require_ours
from pupilage.storage.database import close_database, database_at, migrate, require_sqlite_file
from pupilage.storage.files import set_aside, siblings, sync_folder
from pupilage.storage.locking import server_lock
from pupilage.storage.models import Installation


@dataclass(frozen=True)
class Restored:
    """Where the records are now, and under which name the former database was kept, if there was one."""

    file: Path
    set_aside: Path | None


def restore(backup: Path, *, now: datetime) -> Restored:
    """Put a copy of a backup in the place of the database; the former one is kept under a dated name.

    The copy is brought up to date and gets a new database id, so that phones notice. The backup stays as it is.
    Who may: the command line on the machine itself, while no server runs on the database.
    Raises StorageTrouble or Conflict, and then leaves the database as it was.
    """
    file = require_sqlite_file("pg_restore")
    require_ours(backup)
    with server_lock(file, "a backup is being restored"):
        ready = file.with_name(f".{file.name}.{uuid4().hex[:8]}.restored")
        try:
            copy_database(backup, ready)
            _renew(ready, now=now)
            return Restored(file, _put_in_place(ready, file, now=now))
        finally:
            for left in (ready, *siblings(ready)):
                left.unlink(missing_ok=True)


def _renew(ready: Path, *, now: datetime) -> None:
    with database_at(ready):
        migrate()
        Installation.objects.update_or_create(id=1, defaults={"database_id": uuid4(), "restored_at": now})


def _put_in_place(ready: Path, file: Path, *, now: datetime) -> Path | None:
    close_database()
    aside = set_aside(file, now=now, why="before-restore") if file.exists() else None
    try:
        ready.rename(file)
    except OSError:
        if aside is not None:
            aside.rename(file)
        raise
    sync_folder(file.parent)
    return aside
