"""docs/reference/command-line.md is written from the commands, and says what they say today."""

import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).parents[2] / "scripts" / "write_command_reference"


def test_the_command_reference_is_up_to_date():
    done = subprocess.run([sys.executable, str(SCRIPT), "--check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
