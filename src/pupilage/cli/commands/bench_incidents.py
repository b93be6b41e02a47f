"""`pupilage bench incidents`: is a planted cause found, and is one made up where there is none?"""

import sys

import click

from pupilage.cli.printing import json_option, print_json, print_table

RATIOS = (3.0, 6.0, 12.0)
HEAD = ("what", "stays", "measured", "standard error", "goal")


@click.command()
@click.option("--stays", default=200, show_default=True, type=click.IntRange(10), help="Simulated stays of each kind.")
@click.option("--seed", default=1, show_default=True)
@json_option
def incidents(stays: int, seed: int, as_json: bool) -> None:
    """Measure the answers on causes: planted causes that come first, and causes called where there is none."""
    from pupilage.core.simulation.planted import ENOUGH, RATIO, find_planted

    with click.progressbar(length=stays * len(RATIOS), label="Stays", file=sys.stderr) as bar:
        found = {ratio: find_planted(stays, seed, ratio=ratio, each=lambda: bar.update(1)) for ratio in RATIOS}
    rows = [
        _row(
            f"a cause that makes it {ratio:g} times likelier comes first, {ENOUGH} incidents or more",
            one.n_led,
            one.n_enough,
            "at least 90 %" if ratio == RATIO else "–",
        )
        for ratio, one in found.items()
    ]
    none = found[RATIO]
    rows.append(_row("a cause called where there is none", none.n_called, none.n_none, "at most 5 %"))
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _row(what: str, n: int, of: int, goal: str) -> tuple[str, ...]:
    if not of:
        return (what, "0", "no such stay", "–", goal)
    share = n / of
    error = (share * (1.0 - share) / of) ** 0.5
    return (what, str(of), f"{100 * share:.1f} %", f"{100 * error:.1f} %", goal)
