"""The cells over which dogs of a world are believed in: skills, mastered levels, rates, half-lives, and the prior."""

import numpy as np
from scipy.special import ndtr

from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import N_LEVELS, N_RATES, N_STRETCHES, World
from pupilage.core.training.posterior import learners
from pupilage.core.training.worth.moves import N_SKILLS

STRIDE = 2
"""The filter keeps every second skill of the value tables: a fifth of a logit apart."""

N_LAWS, N_SKILL_FAMILIES = 2, 3
"""Laws of forgetting; ways of learning that have a skill: toward level, per success, wandering."""
N_SKILL_MODELS = N_SKILL_FAMILIES * N_LAWS
N_MODELS = N_SKILL_MODELS + N_LAWS
WANDERING = 2
"""Place of the wandering kind among the four of `Beliefs.kinds`."""

START_WEIGHTS = np.array([0.1, 0.55, 0.25, 0.1] + [0.0] * (N_STRETCHES - 4))
"""Of the half-life at the start: a step of 1.8 below the regime's own, its own, one and two above."""


def skill_grid(world: World) -> Array:
    """Return the skills of the filter, in logits."""
    base = world.regime.base
    return np.linspace(base - learners.SKILL_BELOW_BASE, learners.SKILL_TOP, N_SKILLS)[::STRIDE]


def skills_at_start(world: World) -> Array:
    """Return the weights (rates, half-lives, skills); a skill below the grid counts for its first point."""
    grid = skill_grid(world)
    by_skill = _shares(world, (grid[1:] + grid[:-1]) / 2.0)
    return np.broadcast_to(START_WEIGHTS[:, None] / N_RATES * by_skill, (N_RATES, N_STRETCHES, len(grid)))


def levels_at_start(world: World, spacing: float) -> Array:
    """Return the weights (rates, half-lives, mastered levels)."""
    by_level = mastered_at_start(world, spacing)
    return np.broadcast_to(START_WEIGHTS[:, None] / N_RATES * by_level, (N_RATES, N_STRETCHES, len(by_level)))


def mastered_at_start(world: World, spacing: float) -> Array:
    """Return the chance of 0 … 6 mastered levels: those whose difficulty a first skill covers."""
    return _shares(world, (np.arange(1, N_LEVELS + 1) - 0.5) * spacing)


def _shares(world: World, edges: Array) -> Array:
    """Return the chance that a first skill lies below the first edge, between two, and above the last."""
    below = ndtr((edges - world.regime.skill_mean) / world.regime.skill_sd)
    return np.diff(np.concatenate(([0.0], below, [1.0])))
