"""Scoring policies against each other in one world: the same dogs and the same luck for each."""

from dataclasses import dataclass

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.fixed_rules import fixed_rules
from pupilage.core.simulation.worlds.regimes import World, draw_chance, draw_dogs
from pupilage.core.simulation.worlds.scoring import mean_and_error
from pupilage.core.simulation.worlds.season import Season

MOST_DOGS = 20_000


@dataclass(frozen=True)
class Score:
    """Goals met of eight, expected over the final test, and the standard error over dogs."""

    world: str
    policy: str
    goals_met: float
    standard_error: float
    n_dogs: int


def compare_policies(world: World, *, n_dogs: int, seed: int) -> list[Score]:
    """Return the score of every policy in one world, by common random numbers. Deterministic.

    Raises InvalidInput for a number of dogs that gives no standard error or does not fit the memory.
    """
    if not 2 <= n_dogs <= MOST_DOGS:
        raise InvalidInput.of("dogs", "{n} dogs cannot be scored; give 2 to {most}.", n=n_dogs, most=MOST_DOGS)
    rng = np.random.default_rng(seed)
    dogs = draw_dogs(world, n_dogs, rng)
    chance = draw_chance(world, n_dogs, rng)
    scores = []
    for name, policy in fixed_rules(n_dogs).items():
        met = Season(world, dogs, chance, policy).run().sum(1)
        scores.append(Score(world.name, name, *mean_and_error(met), n_dogs))
    return scores
