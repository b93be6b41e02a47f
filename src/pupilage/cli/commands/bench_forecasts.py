"""`pupilage bench forecasts`: how well the engine's forecasts and intervals hold on simulated dogs it has not seen."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.worlds.foretelling import Foretold

N_FAMILIES = 3
SLOW = 0.6
GOAL_CALIBRATION = {1.0: 0.03, SLOW: 0.06}
GOAL_SKILL = {10: "at least 0.20"}
HEAD = ("learning rates", "what", "measured", "goal")

Row = tuple[str, str, str, str]


@click.command()
@click.option("--behaviours", default=2000, show_default=True, type=click.IntRange(30), help="Simulated behaviours.")
@click.option("--seed", default=1, show_default=True)
@json_option
def forecasts(behaviours: int, seed: int, as_json: bool = False) -> None:
    """Measure the forecasts: calibration error, Brier skill, and how often the 90 % intervals hold."""
    from pupilage.core.simulation.worlds.foretelling import follow_dogs

    n = behaviours // N_FAMILIES
    rows: list[Row] = []
    with click.progressbar(length=2 * n * N_FAMILIES, label="Behaviours", file=sys.stderr) as bar:
        for factor in (1.0, SLOW):
            told = follow_dogs(n, seed=seed, rate_factor=factor, each=lambda: bar.update(1))
            rows += _rows(told, factor, seed)
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _rows(told: "Foretold", factor: float, seed: int) -> Iterator[Row]:
    import numpy as np

    from pupilage.core.simulation.worlds.foretelling import coverage, score_forecasts

    who = "as drawn" if factor == 1.0 else f"× {factor:g}"
    for score in score_forecasts(told, np.random.default_rng(seed)):
        goal = f"at most {GOAL_CALIBRATION[factor]:.2f}"
        yield who, f"day {score.day}: calibration error", f"{score.calibration_error:.3f}", goal
        skill = f"{score.skill:.2f} of {score.best_skill:.2f} possible"
        yield who, f"day {score.day}: Brier skill", skill, GOAL_SKILL.get(score.day, "–") if factor == 1.0 else "–"
    for when, share in zip(("first seven days", "last seven days"), coverage(told), strict=True):
        goal = "87–93 %" if factor == 1.0 else "–"
        yield who, f"90 % intervals that hold, {when}", f"{100 * share:.1f} %", goal
