"""Copies of the database: made while it is in use, checked, and only then given their name."""

import sqlite3
from contextlib import closing
from pathlib import Path

from pupilage.core.errors import Conflict, PupilageError, StorageTrouble
from pupilage.storage.database import require_known, require_whole
from pupilage.storage.files import whole_file
from pupilage.storage.troubles import Damaged, explain


def copy_database(source: Path, target: Path) -> None:
    """Copy a database, in use or not, to a new file: whole and checked, or not there at all.

    A plain copy would lose what still stands in the write-ahead log. The copy is one file, without a log beside it.
    Raises StorageTrouble or Conflict.
    """
    try:
        with whole_file(target) as unfinished:
            _copy(source, unfinished)
            require_whole(unfinished, "integrity_check")
    except sqlite3.Error as error:
        raise explain(error, target) or Damaged.at(source) from error


def _copy(source: Path, unfinished: Path) -> None:
    with (
        closing(sqlite3.connect(source.resolve().as_uri() + "?mode=ro", uri=True)) as read,
        closing(sqlite3.connect(unfinished)) as written,
    ):
        read.backup(written)
        written.execute("PRAGMA journal_mode=DELETE")


def require_ours(file: Path) -> None:
    """Refuse a file that is not a whole database of Pupilage, or that a newer version has written.

    Raises StorageTrouble or Conflict; changes nothing.
    """
    if not file.is_file():
        raise StorageTrouble("There is no file {file}; check the name.", file=str(file))
    require_whole(file, "integrity_check")
    try:
        with closing(sqlite3.connect(file.resolve().as_uri() + "?mode=ro", uri=True)) as connection:
            applied = set(connection.execute("SELECT app, name FROM django_migrations"))
    except sqlite3.OperationalError as error:
        raise _not_ours(file) from error
    if not any(app == "storage" for app, _ in applied):
        raise _not_ours(file)
    require_known(applied)


def _not_ours(file: Path) -> PupilageError:
    return Conflict("{file} is no database of Pupilage; give a file that `pupilage backup` wrote.", file=str(file))
