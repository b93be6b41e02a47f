"""`pupilage simulate`: what rules of training are worth to invented dogs."""

import sys
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from pupilage.cli.outside import load_maker
from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.worlds.comparison import Guests, Maker
    from pupilage.core.simulation.worlds.regimes import World


@click.command()
@click.option("--regime", type=click.Choice(["hard", "mod", "easy"]), help="One regime only.  [default: all three]")
@click.option("--dogs", "n_dogs", type=int, default=500, show_default=True, help="Dogs in each world.", metavar="N")
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Other dogs.", metavar="N")
@click.option(
    "--policy",
    "policies",
    multiple=True,
    help="Score this one too: “ours”, “engine”, or the MODULE:NAME of yours. May be given several times.",
    metavar="NAME",
)
@click.option("--learner", help="Dogs of your own in the place of ours: MODULE:NAME.", metavar="NAME")
@json_option
def simulate(
    regime: str | None, n_dogs: int, seed: int, policies: tuple[str, ...], learner: str | None, as_json: bool
) -> None:
    """Score the rules that trainers go by on invented dogs.

    Eight behaviours, 21 days, prerequisites, missed sessions; dogs of three kinds of learning, and of one that no
    model of ours knows. Prints the goals met of eight with standard errors; the same dogs and luck for each rule.
    How to write policies and learners of your own: docs/how-to/own-policy.md.
    """
    from pupilage.core.simulation.worlds.comparison import compare_policies
    from pupilage.core.simulation.worlds.regimes import REGIMES, Truth, world_of

    makers, guests = _makers(policies), _guests(learner, seed)
    truths = list(Truth) if learner is None else [Truth.OUT]
    worlds = [world_of(name, truth) for name in REGIMES if regime in (None, name) for truth in truths]
    scores = []
    with click.progressbar(worlds, label="Seasons", file=sys.stderr) as bar:
        for world in bar:
            found = compare_policies(world, n_dogs=n_dogs, seed=seed, policies=makers, guests=guests)
            scores += [replace(score, world=_name(world, learner)) for score in found]
    if as_json:
        print_json(scores)
        return
    rows = [(s.world, s.policy, f"{s.goals_met:.2f}", f"{s.standard_error:.2f}", str(s.n_dogs)) for s in scores]
    print_table(("world", "rule", "goals met of 8", "standard error", "dogs"), rows)


def _makers(policies: tuple[str, ...]) -> "Mapping[str, Maker]":
    from pupilage.core.simulation.worlds.comparison import FIXED
    from pupilage.core.simulation.worlds.own_policies import own_policies
    from pupilage.core.simulation.worlds.policies import POLICIES

    found = {
        name: POLICIES[name] if name in POLICIES else own_policies(load_maker(name, "--policy"), name)
        for name in policies
    }
    return {**FIXED, **found}


def _guests(learner: str | None, seed: int) -> "Guests | None":
    from pupilage.core.simulation.worlds.own_dogs import own_dogs

    return None if learner is None else own_dogs(load_maker(learner, "--learner"), learner, seed=seed)


def _name(world: "World", learner: str | None) -> str:
    """Return the name of a world, that of your own dogs in the place of ours."""
    return world.name if learner is None else f"{world.regime.name}/{learner}"
