"""The process that reads recordings beside the pages: started when something waits, one at a time, then gone."""

import hashlib
import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from django.conf import settings

from pupilage.core.errors import Conflict
from pupilage.settings.environment import data_folder
from pupilage.storage.database import find_database_file
from pupilage.storage.locking import server_lock

_started: list[subprocess.Popen[bytes]] = []
"""Kept until they end, so that none is left as a shadow in the system's table."""


def wake_reader() -> None:
    """Start a reader unless this installation starts none by itself. A second one sees the first, and ends at once.

    It is the same program with the same environment, at a lower priority, so that the pages stay quick.
    """
    if not settings.READER_STARTS_BY_ITSELF:
        return
    process = subprocess.Popen(
        [sys.executable, "-m", "pupilage", "recording", "work"],
        env={**os.environ, **_same_database()},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    _started[:] = [process, *(one for one in _started if one.poll() is None)]


@contextmanager
def sole_reader() -> Iterator[str | None]:
    """Give the one reader of this database its name, and any other None.

    The name is the same each time, so that what a reader of that name had before it died is known to be nobody's.
    """
    file = find_database_file()
    place = file if file is not None else data_folder() / "team"
    with ExitStack() as held:
        try:
            held.enter_context(server_lock(Path(f"{place}.reader"), "recordings are being read"))
        except Conflict:
            yield None
        else:
            told = f"{socket.gethostname()} {place}"
            yield f"reader-{hashlib.sha256(told.encode()).hexdigest()[:16]}"


def lower_priority() -> None:
    """Let every other program go first, where the system knows of that."""
    if hasattr(os, "nice"):
        os.nice(10)


def _same_database() -> dict[str, str]:
    file = find_database_file()
    return {} if file is None else {"PUPILAGE_DATABASE": str(file)}
