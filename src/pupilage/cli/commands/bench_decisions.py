"""`pupilage bench decisions`: how good our choices are, on invented dogs, beside the rules that trainers go by."""

import sys
import time
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.worlds.decisions import Line


@click.command()
@click.option("--dogs", "n_dogs", type=int, default=500, show_default=True, help="Dogs in each world.", metavar="N")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Other dogs.", metavar="N")
@click.option("--regime", type=click.Choice(["hard", "mod", "easy"]), help="One regime only.  [default: all three]")
@click.option("--truth", type=click.Choice(["rw", "pfa", "bkt", "out"]), help="Dogs of one kind only.")
@json_option
def decisions(n_dogs: int, seed: int, regime: str | None, truth: str | None, as_json: bool) -> None:
    """Score our policy in the simulated worlds.

    Beside it the four fixed rules, our policy followed in 70 % of the sessions, the ceilings and the bound; then the
    share of the gap closed and the lead over the best fixed rule, with standard errors and targets. A world is printed
    as soon as it is done. With 500 dogs it takes long: see docs/science/values.md.
    """
    from pupilage.core.simulation.worlds.decisions import lines_of, means_of, n_parts, score_worlds
    from pupilage.core.simulation.worlds.regimes import REGIMES, Truth, world_of

    kinds = [one for one in Truth if truth in (None, one.value)]
    worlds = [world_of(name, one) for name in REGIMES if regime in (None, name) for one in kinds]
    scores, lines = [], []
    started = time.monotonic()
    with click.progressbar(length=n_parts(worlds, n_dogs), label="Seasons", file=sys.stderr) as bar:
        for one in score_worlds(worlds, n_dogs=n_dogs, seed=seed, after_part=bar.update):
            scores.append(one)
            if not sys.stderr.isatty():  # where no bar is drawn
                took_s = time.monotonic() - started
                click.echo(f"{one.world.name}: {len(scores)} of {len(worlds)} worlds, {took_s:.0f} s", err=True)
            lines += (own := lines_of(one))
            if not as_json:
                print_table(HEADERS, map(_row, own))
    lines += (means := means_of(scores))
    if as_json:
        print_json([{**vars(line), "dogs": n_dogs, "seed": seed} for line in lines])
    elif means:
        print_table(HEADERS, map(_row, means))


HEADERS = ("world", "what", "value", "standard error", "target", "reached")


def _row(line: "Line") -> tuple[str, ...]:
    error = "" if line.error is None else f"{line.error:.2f}"
    target = "" if line.target is None else f"{line.target:g}"
    reached = {None: "", True: "yes", False: "no"}[line.reached]
    return line.world, line.what, f"{line.value:.2f}", error, target, reached
