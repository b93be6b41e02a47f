"""`pupilage bench alone`: the proposed absences beside fixed ladders, on simulated pups."""

import sys
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.left_alone import AloneScore

HEAD = (
    "pups", "rule", "absences with distress", "far over", "true calm time, days 7, 14, 21", "lowest tenth",
    "longest calm absence", "90 % intervals that hold",
)  # fmt: skip


@click.command()
@click.option("--pups", default=200, show_default=True, type=click.IntRange(2), help="Simulated pups of each kind.")
@click.option("--seed", default=1, show_default=True)
@json_option
def alone(pups: int, seed: int, as_json: bool) -> None:
    """Measure the proposed absences: how often a pup is distressed, and how fast its calm time grows."""
    from pupilage.core.simulation.left_alone import Rule, World, leave_pups

    cases = [(world, rule) for world in World for rule in Rule]
    rows = []
    with click.progressbar(length=pups * len(cases), label="Stays", file=sys.stderr) as bar:
        for world, rule in cases:
            score = leave_pups(pups, rule, world, seed=seed, each=lambda: bar.update(1))
            rows.append((str(world), str(rule), *_figures(score)))
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _figures(score: "AloneScore") -> tuple[str, ...]:
    return (
        f"{100 * score.p_distress:.1f} % ± {100 * score.p_distress_error:.1f}",
        f"{100 * score.p_far_over:.1f} %",
        _spans(score.sure_s),
        _spans(score.sure_low_s),
        _spans(score.longest_s),
        f"{100 * score.covered:.0f} %",
    )


def _spans(seconds: tuple[float, ...]) -> str:
    from pupilage.core.incidents.alone import span

    return ", ".join(span(one) for one in seconds)
