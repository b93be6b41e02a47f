"""The worlds in which policies are scored: how dogs are drawn, what a programme asks of them, and common chance.

The figures are plausible guesses, not estimates from real dogs (docs/science/simulated-worlds.md).
"""

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.laws import FORMS, HALF_LIFE_GROWTH, P_FORMS, Array

Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

N_BEHAVIOURS = 8
N_DAYS = 21
N_LEVELS = 6
BLOCK = 5
MAX_SESSIONS_A_DAY = 2
"""Of one behaviour."""

SPACINGS = (0.6, 0.8, 1.0)
GOAL_LEVELS = (3, 5)
N_RATES = 7
N_STRETCHES = 7
"""Half-lives on the planner's grid: the regime's own x 1.8 to the power −1 .. 5; a dog starts at 0 or 1."""

PREREQUISITES = ((2, 0), (5, 1), (7, 3))
"""The first waits until the second has been met 4 of 5 times at PREREQUISITE_LEVEL or beyond."""
PREREQUISITE_LEVEL = 2


class Truth(StrEnum):
    """Which law the dogs of a world follow. Stored values are fixed for good."""

    RW = "rw"
    PFA = "pfa"
    BKT = "bkt"
    OUT = "out"


KNOWN_TRUTHS = (Truth.RW, Truth.PFA, Truth.BKT)


@dataclass(frozen=True)
class Regime:
    """How hard a programme is: capacity (sessions a day), and the laws by which dogs are drawn.

    skill in logits, rate per met trial (median of a log-normal), half-life in days, base in logits.
    """

    name: str
    capacity: int
    skill_mean: float
    rate_median: float
    half_life_days: float
    base: float
    skill_sd: float = 0.7
    rate_log_sd: float = 0.6
    p_longer: float = 0.3
    rate_factor: float = 1.0
    """Dogs learn at this factor of what planners believe (0.6 for the calibration under a wrong prior)."""

    @property
    def rates(self) -> Array:
        """Return the seven equal-probability learning rates that planners believe in."""
        middle = (np.arange(N_RATES) + 0.5) / N_RATES
        rates: Array = self.rate_median * np.exp(self.rate_log_sd * ndtri(middle))
        return rates

    @property
    def half_lives(self) -> Array:
        """Return the grid of half-lives in days."""
        lives: Array = self.half_life_days * np.power(HALF_LIFE_GROWTH, np.arange(N_STRETCHES) - 1.0)
        return lives


REGIMES = {
    "hard": Regime("hard", 4, 0.0, 0.06, 3.0, -0.6),
    "mod": Regime("mod", 6, 0.3, 0.07, 5.0, -0.3),
    "easy": Regime("easy", 8, 0.5, 0.08, 8.0, -0.3),
}


@dataclass(frozen=True)
class World:
    """One world: regime, the law its dogs follow, and what life adds.

    p_missed: chance that a session falls away. prerequisites: pairs (behaviour, needs). latency: whether answers are
    timed. guess, lapse: of the dogs of the known families.
    """

    regime: Regime
    truth: Truth
    p_missed: float = 0.08
    prerequisites: tuple[tuple[int, int], ...] = PREREQUISITES
    latency: bool = True
    guess: float = 0.02
    lapse: float = 0.02

    @property
    def name(self) -> str:
        return f"{self.regime.name}/{self.truth.value}"


def world_of(regime: str, truth: Truth) -> World:
    """Return the world by name. Raises InvalidInput for a regime that does not exist."""
    if regime not in REGIMES:
        raise InvalidInput.of("regime", "There is no regime “{given}”; choose hard, mod or easy.", given=regime)
    return World(REGIMES[regime], truth)


def plain(world: World) -> World:
    """Return the world without what life adds: no prerequisites, missed sessions, latency or lapses."""
    return replace(world, p_missed=0.0, prerequisites=(), latency=False, guess=0.0, lapse=0.0)


@dataclass(frozen=True)
class Dogs:
    """The true parameters of N dogs with B behaviours, and the programme asked of them; arrays (N, B).

    rate_index into the regime's seven rates; stretch: half-life step at the start (1 = the regime's own on the grid).
    """

    skill: Array
    rate_index: Whole
    stretch: Whole
    spacing_index: Whole
    goal: Whole
    pace: Array
    """The dog's own log of its latency at even odds, in log seconds (N,)."""

    @property
    def n(self) -> int:
        return len(self.goal)


@dataclass(frozen=True)
class Chance:
    """Every draw of a season, made beforehand, so that all policies meet the same luck.

    The t-th trial of the i-th block of a behaviour has one number, whenever a policy gets there.
    """

    trial: Array
    growth: Array
    mastery: Array
    latency: Array
    night: Array
    form: Array
    missed: Flags


MAX_BLOCKS = N_DAYS * MAX_SESSIONS_A_DAY * 2


def draw_dogs(world: World, n: int, rng: np.random.Generator) -> Dogs:
    """Return n dogs of the world."""
    size = (n, N_BEHAVIOURS)
    return Dogs(
        skill=rng.normal(world.regime.skill_mean, world.regime.skill_sd, size),
        rate_index=rng.integers(N_RATES, size=size),
        stretch=1 + (rng.random(size) < world.regime.p_longer).astype(np.int64),
        spacing_index=rng.integers(len(SPACINGS), size=size),
        goal=np.asarray(GOAL_LEVELS)[rng.integers(len(GOAL_LEVELS), size=size)],
        pace=rng.normal(0.4, 0.25, n),
    )


def draw_chance(world: World, n: int, rng: np.random.Generator) -> Chance:
    """Return the luck of a season for n dogs."""
    blocks = (n, N_BEHAVIOURS, MAX_BLOCKS)
    return Chance(
        trial=rng.random((*blocks, BLOCK)),
        growth=rng.random(blocks),
        mastery=rng.random(blocks),
        latency=rng.standard_normal((*blocks, BLOCK)),
        night=rng.random((n, N_BEHAVIOURS, N_DAYS)),
        form=rng.choice(FORMS, size=(n, N_DAYS), p=P_FORMS),
        missed=rng.random((n, N_DAYS, world.regime.capacity)) < world.p_missed,
    )


Drawn = TypeVar("Drawn", Dogs, Chance)


def part_of(drawn: Drawn, rows: slice) -> Drawn:
    """Return the dogs, or the luck, of these rows only."""
    return replace(drawn, **{one.name: getattr(drawn, one.name)[rows] for one in fields(drawn)})
