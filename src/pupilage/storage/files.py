"""Files that are either whole or not there."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from pupilage.core.errors import Conflict


@contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Give a temporary name in the target's folder; when all went well, the file there gets the target's name.

    Written to the disk before the rename. Raises Conflict when the target exists: nothing is overwritten.
    """
    require_free(target)
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished = target.with_name(f".{target.name}.{uuid4().hex[:8]}.unfinished")
    try:
        yield unfinished
        _sync(unfinished)
        require_free(target)
        unfinished.rename(target)
        sync_folder(target.parent)
    except OSError as error:
        if error.filename in {None, str(unfinished)}:
            error.filename = str(target)
        raise
    finally:
        for left in (unfinished, *siblings(unfinished)):
            left.unlink(missing_ok=True)


def require_free(target: Path) -> None:
    """Refuse a name that is taken. Raises Conflict."""
    if target.exists():
        raise Conflict("{file} exists already; give another name, or move it away first.", file=str(target))


def siblings(database: Path) -> tuple[Path, ...]:
    """Return the files that SQLite keeps beside a database."""
    return tuple(database.with_name(database.name + end) for end in ("-wal", "-shm", "-journal"))


def set_aside(database: Path, *, now: datetime, why: str) -> Path:
    """Give a database another, dated name in its folder, with the files beside it; return the new name."""
    stamp = now.strftime("%Y%m%d-%H%M%S")
    aside = database.with_name(f"{database.stem}-{why}-{stamp}{database.suffix}")
    n = 1
    while aside.exists():
        n += 1
        aside = database.with_name(f"{database.stem}-{why}-{stamp}-{n}{database.suffix}")
    for old, new in zip((database, *siblings(database)), (aside, *siblings(aside)), strict=True):
        if old.exists():
            old.rename(new)
    sync_folder(database.parent)
    return aside


def sync_folder(folder: Path) -> None:
    """Write a folder's entries to the disk, where the system can."""
    if os.name == "nt":  # pragma: no cover
        return
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def _sync(file: Path) -> None:
    fd = os.open(file, os.O_RDWR)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)
