"""What the disk and the database refuse, in sentences that say what to do."""

import errno
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Self

from pupilage.core.errors import StorageTrouble

FULL = "The disk is full, so nothing was written to {file}; free some space and do it again."
READ_ONLY = "{file} may not be written to; allow this account to write there, or set PUPILAGE_DATA to another folder."
CANNOT_OPEN = "{file} cannot be opened; see whether its folder exists and may be written to."
NO_FOLDER = "{file} cannot be made, since a file stands where a folder is needed; move it, or set PUPILAGE_DATA."
BUSY = "Another program kept {file} busy for too long; close it and do this again."
FAILED = "The disk failed while {file} was read or written; check the disk, then do this again."
DAMAGED = "{file} is damaged or half-written, and was left as it is; bring back a backup with `pupilage restore FILE`."
NO_SERVER = "The database server does not answer ({said}); see whether it runs, and check DATABASE_URL."

_BY_SQLITE_NAME = {
    "SQLITE_FULL": FULL,
    "SQLITE_READONLY": READ_ONLY,
    "SQLITE_CANTOPEN": CANNOT_OPEN,
    "SQLITE_PERM": READ_ONLY,
    "SQLITE_NOTADB": DAMAGED,
    "SQLITE_CORRUPT": DAMAGED,
    "SQLITE_BUSY": BUSY,
    "SQLITE_LOCKED": BUSY,
    "SQLITE_IOERR": FAILED,
}
_BY_ERRNO = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
    errno.ENOENT: "There is no {file}; check the name.",
    errno.ENOTDIR: NO_FOLDER,
    errno.EEXIST: NO_FOLDER,
    errno.EISDIR: "{file} is a folder; give the name of a file.",
    errno.EIO: FAILED,
}


class Damaged(StorageTrouble):
    """The file is no database, or not a whole one."""

    @classmethod
    def at(cls, file: Path | str) -> Self:
        return cls(DAMAGED, file=str(file))


def explain(error: BaseException, file: Path | str = "") -> StorageTrouble | None:
    """Return the sentence for what the disk or the database refused, or None when the error is of another kind.

    `file` names the database where the error itself does not.
    """
    for cause in _causes(error):
        if isinstance(cause, StorageTrouble):
            return cause
        if isinstance(cause, sqlite3.Error):
            return _explain_sqlite(cause, file)
        if isinstance(cause, OSError) and cause.errno in _BY_ERRNO:
            return StorageTrouble(_BY_ERRNO[cause.errno], file=_named(cause.filename or file))
        if type(cause).__module__.startswith("psycopg") and type(cause).__name__ == "OperationalError":
            return StorageTrouble(NO_SERVER, said=str(cause).splitlines()[0])
    return None


def _causes(error: BaseException) -> Iterator[BaseException]:
    cause: BaseException | None = error
    while cause is not None:
        yield cause
        cause = cause.__cause__


def _explain_sqlite(error: sqlite3.Error, file: Path | str) -> StorageTrouble | None:
    name = getattr(error, "sqlite_errorname", None) or ""
    for start, template in _BY_SQLITE_NAME.items():
        if name.startswith(start):
            kind = Damaged if template is DAMAGED else StorageTrouble
            return kind(template, file=_named(file))
    return None


def _named(file: Path | str | bytes | int) -> str:
    return str(file) or "the database"
