"""What is believed of a dog before its first trial: skill, learning rate, forgetting, and the kind of learner.

The shipped prior is made up, not measured: it has the ranges of our own simulator. It holds until a trainer's own
earlier dogs replace it, and the screen says so (docs/science/learners.md).
"""

from dataclasses import dataclass
from functools import lru_cache
from math import erfc, inf, sqrt

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.learners import BASE, Family, Floats, Forgetting

SKILL_GRID = np.array([-2.0, -1.6, -1.2, -0.9, -0.6, -0.3, 0.0, 0.3, 0.6, 0.9, 1.2, 1.6, 2.0, 2.5, 3.2, 4.2])
RATE_STEPS = 9
HALF_LIFE_GRID = np.array([1.5, 2.8, 5.0, 9.0, 16.0])
HALF_LIFE_WEIGHTS = np.array([0.07, 0.25, 0.36, 0.22, 0.10])

SKILL_MEAN = 0.25
SKILL_SD = 0.8
RATE_MEDIAN = 0.07
RATE_SD = 0.65
OLD_HAND = 0.06
"""Share of the prior spread evenly over the skill grid: some pups arrive knowing the behaviour."""

MODELS: tuple[tuple[Family, Forgetting], ...] = tuple((family, law) for family in Family for law in Forgetting)
"""The six models in the order of every array that has one row a model."""


@dataclass(frozen=True, eq=False)
class Prior:
    """Grids and weights before the first trial. models has six entries in the order of MODELS, and adds up to 1.

    skills in logits above the first step, rates in (0, 1) a met trial, half_lives in days.
    """

    name: str
    skills: Floats
    skill_weights: Floats
    rates: Floats
    rate_weights: Floats
    half_lives: Floats
    half_life_weights: Floats
    models: Floats
    base: float = BASE

    def __post_init__(self) -> None:
        _require_weights("skills", self.skills, self.skill_weights)
        _require_weights("rates", self.rates, self.rate_weights)
        _require_weights("half_lives", self.half_lives, self.half_life_weights)
        _require_weights("models", np.zeros(len(MODELS)), self.models)


def _require_weights(name: str, grid: Floats, weights: Floats) -> None:
    sound = (
        len(grid) == len(weights)
        and np.isfinite(grid).all()
        and bool((weights >= 0.0).all())
        and abs(float(weights.sum()) - 1.0) < 1e-9  # NaN fails too
    )
    if not sound:
        raise InvalidInput.of(
            name,
            "The prior's weights of {name} do not fit its grid; give as many, 0 or more, adding up to 1.",
            name=name,
        )


def normal_weights(grid: Floats, mean: float, sd: float) -> Floats:
    """Return the weights of a normal law on an uneven grid: its mass between the midpoints.

    By `math.erfc`, not by SciPy, which takes longer to load than all the rest that a decision needs.
    """
    middle = (grid[1:] + grid[:-1]) / 2.0
    edges = [-inf, *((middle - mean) / sd / sqrt(2.0)).tolist(), inf]
    return np.diff([0.5 * erfc(-edge) for edge in edges])


def rate_grid(median: float, sd: float, n: int = RATE_STEPS) -> tuple[Floats, Floats]:
    """Return n rates, evenly spaced in their logarithm over ±2.2 sd, and their log-normal weights."""
    log_rates = np.log(median) + sd * np.linspace(-2.2, 2.2, n)
    return np.minimum(0.6, np.exp(log_rates)), normal_weights(log_rates, float(np.log(median)), sd)


def make_prior(
    name: str,
    *,
    skill_mean: float = SKILL_MEAN,
    skill_sd: float = SKILL_SD,
    rate_median: float = RATE_MEDIAN,
    rate_sd: float = RATE_SD,
    half_life_weights: Floats = HALF_LIFE_WEIGHTS,
    models: Floats | None = None,
    base: float = BASE,
) -> Prior:
    """Return a prior with normal skill, log-normal rate (per met trial) and weights for the half-lives given.

    Skill and rate are mixed with a little of an even law, so that no dog lies outside what can be learned of it.
    """
    skill = (1.0 - OLD_HAND) * normal_weights(SKILL_GRID, skill_mean, skill_sd) + OLD_HAND / len(SKILL_GRID)
    rates, rate_weights = rate_grid(rate_median, rate_sd)
    even = np.full(len(MODELS), 1.0 / len(MODELS))
    return Prior(
        name,
        SKILL_GRID,
        skill / skill.sum(),
        rates,
        rate_weights,
        HALF_LIFE_GRID,
        half_life_weights / half_life_weights.sum(),
        even if models is None else models,
        base,
    )


@lru_cache(maxsize=1)
def shipped_prior() -> Prior:
    """Return the prior that ships with the program: the ranges of the simulator, not of real dogs."""
    return make_prior("simulated")
