"""`pupilage bench pack`: a family's pack of 12 behaviours and 5,000 trials, each in a process of its own."""

import os
import subprocess
import sys
import time
from pathlib import Path

import click

from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import start_django

HEAD = ("what", "measured", "goal", "how")


@click.command()
@click.option("--runs", default=5, show_default=True, type=click.IntRange(1), help="Packs made; the quickest counts.")
@json_option
def pack(runs: int, as_json: bool) -> None:
    """Measure the making of a pack: seconds from the command to the file, and the memory it took at most."""
    import tempfile

    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        os.environ["PUPILAGE_DATA"] = folder
        os.environ.pop("PUPILAGE_DATABASE", None)
        os.environ.pop("DATABASE_URL", None)
        _fill()
        with click.progressbar(range(runs), label="Packs", file=sys.stderr) as bar:
            took_s = [_make(Path(folder) / "pack.pdf") for _ in bar]
        size = (Path(folder) / "pack.pdf").stat().st_size
    rows = [
        ("pack, 12 behaviours, 5,000 trials", f"{min(took_s):.2f} s", "under 3 s", f"quickest of {runs} processes"),
        ("its memory", f"{_peak_mb():.0f} MB", "under 400 MB", "most that any of them held"),
        ("its size", f"{size / 1000:.0f} kB", "–", "A4, English"),
    ]
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _fill() -> None:
    """Write the stay that the everyday bench is measured on."""
    start_django()
    from pupilage.cli.commands.bench import fill_stay
    from pupilage.storage.database import prepare_database

    prepare_database()
    fill_stay()


def _make(file: Path) -> float:
    command = [sys.executable, "-m", "pupilage", "handover", str(file)]
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)  # noqa: S603  # our own command, no outside input
    return time.perf_counter() - start


def _peak_mb() -> float:
    import resource

    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3
