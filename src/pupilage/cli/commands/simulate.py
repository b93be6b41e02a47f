"""`pupilage simulate`: what rules of training are worth to invented dogs."""

import sys

import click

from pupilage.cli.printing import json_option, print_json, print_table


@click.command()
@click.option("--regime", type=click.Choice(["hard", "mod", "easy"]), help="One regime only.  [default: all three]")
@click.option("--dogs", "n_dogs", type=int, default=500, show_default=True, help="Dogs in each world.", metavar="N")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Other dogs.", metavar="N")
@json_option
def simulate(regime: str | None, n_dogs: int, seed: int, as_json: bool) -> None:
    """Score the rules that trainers go by on invented dogs.

    Eight behaviours, 21 days, prerequisites, missed sessions; dogs of three kinds of learning, and of one that no
    model of ours knows. Prints the goals met of eight with standard errors; the same dogs and luck for each rule.
    """
    from pupilage.core.simulation.worlds.comparison import compare_policies
    from pupilage.core.simulation.worlds.regimes import REGIMES, Truth, world_of

    worlds = [world_of(name, truth) for name in REGIMES if regime in (None, name) for truth in Truth]
    scores = []
    with click.progressbar(worlds, label="Seasons", file=sys.stderr) as bar:
        for world in bar:
            scores += compare_policies(world, n_dogs=n_dogs, seed=seed)
    if as_json:
        print_json(scores)
        return
    rows = [(s.world, s.policy, f"{s.goals_met:.2f}", f"{s.standard_error:.2f}", str(s.n_dogs)) for s in scores]
    print_table(("world", "rule", "goals met of 8", "standard error", "dogs"), rows)
