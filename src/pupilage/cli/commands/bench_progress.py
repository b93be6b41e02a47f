"""`pupilage bench progress`: the pages of progress for a stay of 12 behaviours and 5,000 trials, on the server."""

import os
import statistics
import time
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import start_django

if TYPE_CHECKING:
    from django.test import Client

    from pupilage.core.access import Actor

HEAD = ("what", "measured", "goal", "how")
Row = tuple[str, str, str, str]


@click.command()
@click.option("--runs", default=9, show_default=True, type=click.IntRange(1), help="Views of each kind.")
@json_option
def progress(runs: int, as_json: bool) -> None:
    """Measure the pages of progress: again with nothing new, first after a new try, and first in a process."""
    import tempfile

    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        os.environ["PUPILAGE_DATA"] = folder
        os.environ.pop("PUPILAGE_DATABASE", None)
        os.environ.pop("DATABASE_URL", None)
        rows = _measure(runs)
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _measure(runs: int) -> list[Row]:
    start_django()

    from pupilage.cli.clock import now
    from pupilage.cli.commands.bench import visit_filled_stay
    from pupilage.services.find_last_session import find_last_session
    from pupilage.services.read_programme import find_current_id
    from pupilage.services.read_session import read_session

    client, actor = visit_filled_stay()
    session = find_last_session(actor)
    assert session is not None  # noqa: S101  the stay was just filled
    stay = f"/stays/{find_current_id(actor, now=now())}/progress/"
    own = f"{stay}{read_session(actor, session, now=now()).behaviour_key}/"
    rows = []
    for name, path in (("a behaviour", own), ("the whole stay", stay), ("counts per minute", f"{own}rates/")):
        first = _view_ms(client, path)
        again = statistics.median(_view_ms(client, path) for _ in range(runs))
        changed = statistics.median(_changed_ms(client, actor, path) for _ in range(runs))
        rows += [
            (f"progress of {name}", f"{again:.0f} ms", "under 150 ms", f"median of {runs}, nothing new"),
            ("the same after a new try", f"{changed:.0f} ms", "under 150 ms", f"median of {runs} first views"),
            ("the same, the first of the day", f"{first:.0f} ms", "–", "its part of what is kept for the day is made"),
        ]
    return rows


def _view_ms(client: "Client", path: str) -> float:
    start = time.perf_counter()
    answer = client.get(path)
    took = 1000 * (time.perf_counter() - start)
    if answer.status_code != 200:
        raise click.ClickException(f"{path} answered {answer.status_code}.")
    return took


def _changed_ms(client: "Client", actor: "Actor", path: str) -> float:
    """Write one more try into the newest session, and time the first view after it."""
    from pupilage.cli.commands.bench import write_one_try

    write_one_try(actor)
    return _view_ms(client, path)
