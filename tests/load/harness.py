"""What the load tests share: a server that can be killed and started again, and the log as it stands in its file."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

CHROMIUM = "/usr/bin/chromium"


class KillableServer:
    """A server process on a database of its own that is killed by SIGKILL and started again on the same port."""

    def __init__(self, folder: Path, *, n_phones: int = 0) -> None:
        self.database = folder / "pupilage.sqlite3"
        environment = {**os.environ, "PUPILAGE_DATA": str(folder), "DATABASE_URL": ""}
        command = [sys.executable, str(Path(__file__).with_name("cradle.py")), str(n_phones)]
        self._cradle = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
        )
        line = self._read()
        assert line, "the server did not start"
        self.known: dict[str, Any] = json.loads(line)
        self.url: str = self.known["url"]
        self.pid: int | None = None

    def _read(self) -> str:
        assert self._cradle.stdout is not None
        return self._cradle.stdout.readline()

    def start(self) -> None:
        """Start the server; it answers when this returns."""
        assert self.pid is None
        assert self._cradle.stdin is not None
        self._cradle.stdin.write("\n")
        self._cradle.stdin.flush()
        self.pid = int(self._read())

    def kill(self) -> None:
        """Kill the server where it stands."""
        assert self.pid is not None
        os.kill(self.pid, signal.SIGKILL)
        while _lives(self.pid):
            time.sleep(0.001)
        self.pid = None

    def close(self) -> None:
        """End both processes."""
        if self.pid is not None:
            self.kill()
        assert self._cradle.stdin is not None
        self._cradle.stdin.close()
        self._cradle.wait(timeout=10)
        assert self._cradle.stdout is not None
        self._cradle.stdout.close()

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """Return what a query finds in the database file, read from outside."""
        connection = sqlite3.connect(self.database)
        try:
            return connection.execute(query, values).fetchall()
        finally:
            connection.close()

    def event_ids(self) -> list[str]:
        """Return the id of every event of the log, one that stands twice twice."""
        return [event_id for (event_id,) in self.rows("select event_id from storage_sessionevent")]


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def plain(ids: Sequence[str]) -> set[str]:
    """Return ids as the database file writes them."""
    return {one.replace("-", "") for one in ids}


def missing_and_doubled(server: KillableServer, acknowledged: Sequence[str]) -> tuple[int, int]:
    """Return how many acknowledged events the log lacks, and how many ids stand in it more than once."""
    stored = [one.replace("-", "") for one in server.event_ids()]
    return len(plain(acknowledged) - set(stored)), len(stored) - len(set(stored))


def percentile(values: Sequence[float], share: float) -> float:
    """Return the value below which this share of the values lies."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
