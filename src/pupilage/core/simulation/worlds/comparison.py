"""Scoring policies against each other in one world: the same dogs and the same luck for each."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.fixed_rules import FIXED_RULES, FixedRule
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.planner import Planner
from pupilage.core.simulation.worlds.regimes import Chance, Dogs, Truth, World, draw_chance, draw_dogs, part_of
from pupilage.core.simulation.worlds.scoring import mean_and_error
from pupilage.core.simulation.worlds.season import BatchPolicy, Pupils, Season
from pupilage.core.simulation.worlds.season_values import SeasonValues, mean_worn

MOST_DOGS = 20_000
DOGS_AT_ONCE = 250
"""Our policy keeps about 4 MB a dog; the tables of a regime take another 1 GB."""

OURS = "ours"

Maker = Callable[[World, Dogs], BatchPolicy]
"""Makes a fresh policy for the dogs of a season: it may read the programme, goals and spacings, and nothing else."""

Guests = Callable[[World, Dogs, slice], Pupils]
"""Makes the dogs of others, in the place of these rows of the world's own."""


@dataclass(frozen=True)
class Score:
    """Goals met of eight, expected over the final test, and the standard error over dogs."""

    world: str
    policy: str
    goals_met: float
    standard_error: float
    n_dogs: int


@lru_cache(maxsize=1)
def _tables(world: World) -> SeasonValues:
    return SeasonValues(world, sees_levels=False, worn=mean_worn(world))


def tables_of(world: World) -> SeasonValues:
    """Return the value tables of a world's regime, the same for dogs of every kind. Those of the last one are kept."""
    return _tables(replace(world, truth=Truth.RW))


def ours(world: World, dogs: Dogs) -> Planner:
    """Return our policy for these dogs, of which it reads the programme only."""
    return Planner(tables_of(world), world, dogs.n, dogs.spacing_index, dogs.goal)


def _fixed(trials: int, skip: bool) -> Maker:
    return lambda world, dogs: FixedRule(dogs.n, trials, skip)


FIXED: dict[str, Maker] = {name: _fixed(*rule) for name, rule in FIXED_RULES.items()}


def play(
    world: World,
    dogs: Dogs,
    chance: Chance,
    make: Maker,
    *,
    guests: Guests | None = None,
    after_part: Callable[[int], object] = lambda n: None,
) -> Array:
    """Return the goals met (N,) under a policy, DOGS_AT_ONCE dogs at a time; `after_part(n)` hears of n dogs done."""
    goals_met = []
    for first in range(0, dogs.n, DOGS_AT_ONCE):
        rows = slice(first, first + DOGS_AT_ONCE)
        some = part_of(dogs, rows)
        pupils = None if guests is None else guests(world, some, rows)
        season = Season(world, some, part_of(chance, rows), make(world, some), pupils)
        goals_met.append(season.run().sum(1))
        after_part(some.n)
    return np.concatenate(goals_met)


def require_dogs(n_dogs: int) -> None:
    """Refuse a number of dogs that gives no standard error or does not fit the memory. Raises InvalidInput."""
    if not 2 <= n_dogs <= MOST_DOGS:
        raise InvalidInput.of("dogs", "{n} dogs cannot be scored; give 2 to {most}.", n=n_dogs, most=MOST_DOGS)


def compare_policies(
    world: World, *, n_dogs: int, seed: int, policies: Mapping[str, Maker] = FIXED, guests: Guests | None = None
) -> list[Score]:
    """Return the score of every policy in one world, by common random numbers. Deterministic.

    guests: dogs of others in the place of the world's own; they meet the same days and missed sessions.
    Raises InvalidInput for a number of dogs that gives no standard error or does not fit the memory.
    """
    require_dogs(n_dogs)
    rng = np.random.default_rng(seed)
    dogs = draw_dogs(world, n_dogs, rng)
    chance = draw_chance(world, n_dogs, rng)
    scores = []
    for name, make in policies.items():
        met = play(world, dogs, chance, make, guests=guests)
        scores.append(Score(world.name, name, *mean_and_error(met), n_dogs))
    return scores
