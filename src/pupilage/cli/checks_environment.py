"""The environment that scripts/set_up_checks makes: other programs, to be compared with; running needs none of them."""

import json
import os
import subprocess
from pathlib import Path
from typing import Any

import pupilage
from pupilage.core.errors import InvalidInput

SOURCE = Path(pupilage.__file__).resolve().parent.parent
BESIDE = SOURCE / "pupilage" / "cli" / "beside"


def find_python() -> Path | None:
    """Return the Python of .venv-checks of this checkout, or None where it has not been made."""
    name = "Scripts/python.exe" if os.name == "nt" else "bin/python"
    found = SOURCE.parent / ".venv-checks" / name
    return found if found.exists() else None


def ask(program: Path, *arguments: str) -> Any:
    """Run a program there on one thread, and return the JSON that it prints, or None where it prints none.

    Raises: InvalidInput where the environment is missing or the program fails.
    """
    python = find_python()
    if python is None:
        raise InvalidInput.of("checks", "The environment .venv-checks is missing; scripts/set_up_checks makes it.")
    limits = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
    environment = os.environ | limits | {"PYTHONPATH": str(SOURCE), "JAX_PLATFORMS": "cpu"}
    done = subprocess.run(  # noqa: S603  a program of our own, with arguments of our own
        [str(python), "-W", "ignore", str(program), *arguments],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
    )
    if done.returncode:
        raise InvalidInput.of("checks", "{program} failed: {why}", program=program.stem, why=done.stderr[-2000:])
    return json.loads(done.stdout.splitlines()[-1]) if done.stdout.strip() else None
