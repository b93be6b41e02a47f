"""Values for a dog that learns level by level, by one who does not see when it masters one, nor when it forgets one.

`values.FamilyValues` takes it that after every block and night the state is known. With levels that is far off: a
level is mastered, or lost overnight, unseen, and the next tries tell only in part. Here the state is what is believed
of the number of mastered levels: certainty of one number, or two next to each other in one of a few proportions
(`lattice`); every other belief is spread over these (`onto_lattice`). A choice is made for a belief, the block's
outcome moves it by Bayes' rule, the night by the chance to forget. Rate and half-life stay known.

**Model**: value iteration over a fixed set of beliefs with interpolation; since the true value is convex in the
belief, it lies at or below what is found here, and this at or below the value of one who sees all.
Source (from memory): Lovejoy, 1991, "Computationally feasible bounds for partially observed Markov decision processes".
"""

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family, Floats
from pupilage.core.training.worth.moves import BLOCK, CHOOSE, Moves, Small, chance_of_goal, night_moves
from pupilage.core.training.worth.values import FamilyValues, Setting

Reals = NDArray[np.floating[Any]]

PROPORTIONS = np.array([0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0])
"""Weights of the higher of two neighbouring numbers of mastered levels."""
PER_PAIR = len(PROPORTIONS) - 1


@lru_cache(maxsize=8)
def lattice(n_levels: int) -> Floats:
    """Return the beliefs that stand for all: (6 n_levels + 1 points, n_levels + 1 numbers of mastered levels)."""
    points = np.zeros((n_levels * PER_PAIR + 1, n_levels + 1))
    for lower in range(n_levels):
        rows = slice(lower * PER_PAIR, (lower + 1) * PER_PAIR)
        points[rows, lower], points[rows, lower + 1] = 1.0 - PROPORTIONS[:-1], PROPORTIONS[:-1]
    points[-1, -1] = 1.0
    return points


def onto_lattice(mass: Reals) -> Floats:
    """Return masses (…, numbers of mastered levels) as masses of the lattice's points (…, points).

    Model: a number's mass is shared between the pairs on its two sides in proportion to the neighbours' masses, and a
    pair's mass between the two points about its proportion. The chance of every number is kept.
    """
    lower, upper = _pairs(mass)
    total = lower + upper
    proportion = np.where(total > 0.0, upper / np.where(total > 0.0, total, 1.0), 0.0)
    place = np.clip(np.searchsorted(PROPORTIONS, proportion, side="right") - 1, 0, PER_PAIR - 1)
    part = (proportion - PROPORTIONS[place]) / (PROPORTIONS[place + 1] - PROPORTIONS[place])
    n_levels = mass.shape[-1] - 1
    n_points = n_levels * PER_PAIR + 1
    rows = np.arange(total.size // n_levels).reshape(*total.shape[:-1], 1) * n_points
    at = (rows + np.arange(n_levels) * PER_PAIR + place).ravel()
    flat = np.bincount(at, (total * (1.0 - part)).ravel(), rows.size * n_points)
    flat += np.bincount(at + 1, (total * part).ravel(), rows.size * n_points)
    return np.asarray(flat, dtype=np.float64).reshape(*mass.shape[:-1], n_points)


def _pairs(mass: Reals) -> tuple[Reals, Reals]:
    """Return what each pair of neighbouring numbers gets of its lower and of its upper one: (…, levels) each."""
    none = np.zeros_like(mass[..., :1])
    above = np.concatenate((mass[..., 1:], none), axis=-1)
    beside = above + np.concatenate((none, mass[..., :-1]), axis=-1)
    upwards = np.where(beside > 0.0, above / np.where(beside > 0.0, beside, 1.0), 0.5)
    upwards[..., 0], upwards[..., -1] = 1.0, 0.0
    right = mass * upwards
    return right[..., :-1], (mass - right)[..., 1:]


class UnseenLevels(FamilyValues):
    """As `FamilyValues` for the family by levels, over beliefs: `mornings` (days + 1, points, targets, prices, …)."""

    def __init__(self, setting: Setting, rate: float, mornings: Small | None = None) -> None:
        self.points = lattice(len(setting.deltas))
        super().__init__(setting, Family.BY_LEVELS, rate, mornings)

    def _moves(self, form: float, tired: float) -> Moves:
        return Moves(np.stack([self._level_moves(level, form, tired) for level in range(self.course.n_levels)]))

    def _level_moves(self, level: int, form: float, tired: float) -> Small:
        p, n_met = self.course.chance(level, form, tired), np.arange(BLOCK + 1.0)[:, None]
        seen = self.points[:, None, :] * (CHOOSE[:, None] * p**n_met * (1.0 - p) ** (BLOCK - n_met))
        after = onto_lattice(learners.learn_by_levels(seen, self.course.rate, level, BLOCK))
        grows = learners.GROWTH_PER_HIT * n_met
        stay, grow = (np.sum(after * share, axis=1) for share in (1.0 - grows, grows))
        return np.hstack((stay, grow)).astype(np.float32)

    def _nights(self) -> Small:
        moved = np.einsum("pc,hcd->hpd", self.points, night_moves(self.course))
        return onto_lattice(moved).astype(np.float32)

    def _tests(self) -> Floats:
        return np.asarray(self.points @ chance_of_goal(self.course, self.setting.targets))
