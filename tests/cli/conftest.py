"""Running commands: inside the test's process for speed, as real processes where that is the point."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Self

import pytest
from click.testing import CliRunner, Result

from pupilage.cli.main import pupilage

PATIENCE_S = 60


@pytest.fixture
def run() -> Callable[..., Result]:
    """Return a function that runs a command on the test's database."""

    def invoke(*arguments: str) -> Result:
        return CliRunner().invoke(pupilage, [str(argument) for argument in arguments], catch_exceptions=False)

    return invoke


@dataclass
class Process:
    """A command that runs on its own."""

    popen: subprocess.Popen[str]

    def wait_for(self, pattern: str) -> str:
        """Return what the pattern's first group caught in a line of output. Fails when the output ends first."""
        assert self.popen.stdout is not None
        seen = []
        for line in self.popen.stdout:
            seen.append(line)
            if found := re.search(pattern, line):
                return found[1]
        raise AssertionError("".join(seen))

    def stop(self, sign: signal.Signals = signal.SIGTERM) -> tuple[int, str]:
        """Return the exit code and the rest of the output."""
        self.popen.send_signal(sign)
        rest, _ = self.popen.communicate(timeout=PATIENCE_S)
        return self.popen.returncode, rest

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self.popen.poll() is None:
            self.popen.kill()
            self.popen.communicate(timeout=PATIENCE_S)


@dataclass(frozen=True)
class Machine:
    """A folder of its own for real processes."""

    folder: Path

    @property
    def environment(self) -> dict[str, str]:
        dropped = {"DATABASE_URL", "DJANGO_SETTINGS_MODULE", "PUPILAGE_DATABASE", "PUPILAGE_SETTINGS", "DISPLAY"}
        kept = {name: value for name, value in os.environ.items() if name not in dropped}
        return {**kept, "PUPILAGE_DATA": str(self.folder), "TZ": "UTC"}

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "pupilage", *map(str, arguments)]
        return subprocess.run(command, env=self.environment, capture_output=True, text=True, timeout=PATIENCE_S)

    def start(self, *arguments: str) -> Process:
        command = [sys.executable, "-m", "pupilage", *map(str, arguments)]
        return Process(
            subprocess.Popen(command, env=self.environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        )


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path / "data")
