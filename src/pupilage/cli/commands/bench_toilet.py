"""`pupilage bench toilet`: accidents at equal outings, and whether a chosen risk is carried, on invented pups."""

import sys
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.outings.comparison import Line

HEADERS = ("what", "at", "value", "standard error", "goal", "reached")


@click.command()
@click.option("--pups", "n_pups", type=int, default=1500, show_default=True, help="Simulated pups.", metavar="N")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Other pups.", metavar="N")
@json_option
def toilet(n_pups: int, seed: int, as_json: bool) -> None:
    """Measure the toilet model on simulated stays of 21 days.

    Accidents at equal outings, beside a fixed interval with outings after naps and meals, and beside the same model
    that knows the pup; then the share of waits that really end in an accident, by age and week, and in worlds where
    the model takes something wrong for granted.
    """
    from pupilage.core.simulation.outings.comparison import compare, n_parts

    with click.progressbar(length=n_parts(), label="Days", file=sys.stderr) as bar:
        lines = compare(n_pups, seed=seed, each_day=lambda: bar.update(1))
    if as_json:
        print_json([{**vars(line), "pups": n_pups, "seed": seed} for line in lines])
    else:
        print_table(HEADERS, map(_row, lines))


def _row(line: "Line") -> tuple[str, ...]:
    error = "" if line.error is None else f"{line.error:.4f}"
    reached = {None: "", True: "yes", False: "no"}[line.reached]
    return line.what, line.setting, f"{line.value:.4f}", error, line.target, reached
