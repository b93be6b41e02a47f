"""`pupilage bench plans`: how good and how fast the planner is, from short stays to long ones."""

import resource
import sys
import time
from dataclasses import dataclass
from typing import Any

import click

from pupilage.cli.printing import json_option, print_json, print_table

MAIN = (28, 12)
SIZES = ((7, 4), (7, 12), (14, 8), (21, 8), (28, 4), MAIN, (28, 20), (42, 12), (56, 12), (56, 20))
"""Days and goals: how the time grows, and the size that the goals below are for."""

SESSIONS_A_DAY = 5
HEAD = (
    "days",
    "goals",
    "proven best",
    "largest gap",
    "seconds, median",
    "slowest",
    "of processor time",
    "memory",
    "goal",
)

Row = tuple[str, ...]


@dataclass(frozen=True)
class Measured:
    """Stays of one size: how many were proven best, the largest gap, seconds, and the memory of the process so far.

    cpu_s: processor time of the slowest, which a busy machine does not stretch.
    """

    n_days: int
    n_goals: int
    n_proven: int
    n: int
    gap: float
    seconds: tuple[float, ...]
    cpu_s: float
    memory_mb: float


@click.command()
@click.option("--part", type=click.Choice(["programme"]), default="programme", show_default=True, help="Which plans.")
@click.option("--stays", default=5, show_default=True, type=click.IntRange(1), help="Invented stays of each size.")
@click.option("--repeats", default=3, show_default=True, type=click.IntRange(1), help="The quickest of so many counts.")
@click.option("--largest", is_flag=True, help="Only the size that the goals are for: 28 days, 12 goals.")
@json_option
def plans(part: str, stays: int, repeats: int, largest: bool, as_json: bool) -> None:
    """Measure the plan of a stay: proven optimum or gap, time and memory, from 7 to 56 days and 4 to 20 goals."""
    sizes = (MAIN,) if largest else SIZES
    rows = []
    with click.progressbar(length=len(sizes) * stays, label="Stays", file=sys.stderr) as bar:
        for n_days, n_goals in sizes:
            rows.append(_row(_measure(n_days, n_goals, stays=stays, repeats=repeats, bar=bar)))
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _measure(n_days: int, n_goals: int, *, stays: int, repeats: int, bar: Any) -> Measured:
    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.planning.programme.solver import solve_plan
    from pupilage.core.simulation.plan_problems import draw_problem

    catalogue, seconds, gaps, cpu = load_bundled(), [], [], []
    for seed in range(stays):
        problem = draw_problem(catalogue, n_days=n_days, n_goals=n_goals, sessions_a_day=SESSIONS_A_DAY, seed=seed)
        began = time.process_time()
        found = [solve_plan(problem) for _ in range(repeats)]
        cpu.append((time.process_time() - began) / repeats)
        seconds.append(min(one.seconds for one in found))
        gaps.append(found[0].gap)
        bar.update(1)
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    n_proven = sum(gap == 0.0 for gap in gaps)
    return Measured(n_days, n_goals, n_proven, stays, max(gaps), tuple(seconds), max(cpu), memory_mb)


def _row(one: Measured) -> Row:
    import statistics

    goal = "proven or gap ≤ 1 %, under 2 s, under 500 MB" if (one.n_days, one.n_goals) == MAIN else "–"
    return (
        str(one.n_days),
        str(one.n_goals),
        f"{one.n_proven} of {one.n}",
        f"{100 * one.gap:.2f} %",
        f"{statistics.median(one.seconds):.2f} s",
        f"{max(one.seconds):.2f} s",
        f"{one.cpu_s:.2f} s",
        f"{one.memory_mb:.0f} MB",
        goal,
    )
