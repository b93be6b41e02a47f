"""One server for one database: a lock file beside it, which says where the first one listens."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from pupilage.core.errors import Conflict

LOCKED_BYTE = 1 << 20
"""Far behind the text, since Windows lets nobody read a locked byte."""


@dataclass(frozen=True)
class ServerLock:
    """A lock that is held. `announce` tells others what holds it."""

    fd: int

    def announce(self, what: str) -> None:
        """Write the address of the server, or what else is done with the database."""
        os.ftruncate(self.fd, 0)
        os.pwrite(self.fd, what.encode(), 0) if hasattr(os, "pwrite") else self._write_at_start(what)

    def _write_at_start(self, what: str) -> None:
        os.lseek(self.fd, 0, os.SEEK_SET)
        os.write(self.fd, what.encode())


def lock_file(database: Path) -> Path:
    """Return the lock file that goes with a database."""
    return database.with_name(database.name + ".lock")


@contextmanager
def server_lock(database: Path, what: str = "") -> Iterator[ServerLock]:
    """Hold the lock of a database. Raises Conflict, naming the one that holds it.

    The system drops the lock when the process ends, however it ends; the file itself stays and means nothing.
    """
    file = lock_file(database)
    file.parent.mkdir(parents=True, exist_ok=True)
    fd = os.open(file, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        if not _try_lock(fd):
            raise Conflict(
                "{database} is in use already: {holder}. Use that one, or stop it first (Ctrl-C in its window).",
                database=str(database),
                holder=find_holder(database) or "another Pupilage is just starting",
            )
        lock = ServerLock(fd)
        lock.announce(what)
        yield lock
        os.ftruncate(fd, 0)
    finally:
        os.close(fd)


def find_holder(database: Path) -> str:
    """Return what the holder of the lock has announced, or nothing."""
    try:
        return lock_file(database).read_text(encoding="utf-8").strip()
    except OSError:
        return ""


if sys.platform == "win32":  # pragma: no cover
    import msvcrt

    def _try_lock(fd: int) -> bool:
        os.lseek(fd, LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _try_lock(fd: int) -> bool:
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
