"""Where a block and a night take a skill, as matrices over a grid of states: the ground of the value tables."""

from dataclasses import dataclass
from math import comb
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family, Floats
from pupilage.core.training.posterior.reading import chance_of_test

Small = NDArray[np.float32]

N_SKILLS = 77
"""Grid points of a skill, a tenth of a logit apart. What a finer grid changes has not been measured."""

BLOCK = learners.BLOCK_TRIALS
DRIFT = 1.0
"""Gain of any trial in learning rates, for a learner whose law nobody knows: a plain assumption, fitted to nothing."""


CHOOSE = np.array([float(comb(BLOCK, n_met)) for n_met in range(BLOCK + 1)])


@dataclass(frozen=True)
class Course:
    """What a behaviour asks and what laws its learner follows, for one learning rate.

    deltas: difficulties of the steps in logits, any spacing; half_lives in days, each 1.8 times the one before;
    base in logits; guess and lapse of one trial.
    """

    family: Family
    rate: float
    deltas: tuple[float, ...]
    half_lives: tuple[float, ...]
    base: float
    guess: float = learners.GUESS
    lapse: float = learners.LAPSE

    @property
    def n_levels(self) -> int:
        return len(self.deltas)

    @property
    def states(self) -> Floats:
        """Return the grid of states: skills in logits, or numbers of mastered levels."""
        if self.family is Family.BY_LEVELS:
            return np.arange(self.n_levels + 1, dtype=np.float64)
        return np.linspace(self.base - learners.SKILL_BELOW_BASE, learners.SKILL_TOP, N_SKILLS)

    def chance(self, level: int, form: float, tired: float) -> Floats:
        """Return the chance of one trial at a level for every state."""
        if self.family is Family.BY_LEVELS:
            return np.asarray(learners.p_met_by_levels(self.n_levels, level, form=form, tired=tired))
        ease = self.states - self.deltas[level] + form + tired
        return np.asarray(self.guess + (1.0 - self.guess - self.lapse) * learners.sigmoid(ease))


@dataclass(frozen=True)
class Moves:
    """A block at every level: (levels, states, 2 states); first half: half-life unchanged, second: longer."""

    both: Small

    def every(self, after: Small) -> Small:
        """Return the expected value of a block at every level: (levels, states, …, half-lives)."""
        longer = np.concatenate((after[..., 1:], after[..., -1:]), axis=-1)
        n_levels, n_states, _ = self.both.shape
        columns = np.concatenate((after, longer)).reshape(2 * n_states, -1)
        flat = self.both.reshape(n_levels * n_states, 2 * n_states) @ columns
        return flat.reshape(n_levels, *after.shape)

    def best(self, after: Small) -> Small:
        """Return the expected value of a block at the best level."""
        value: Small = self.every(after).max(0)
        return value


def chance_of_goal(course: Course, targets: tuple[int, ...]) -> Floats:
    """Return P(8 of 10 cold) for every state and target level, the day's form integrated: (states, targets)."""
    total = np.zeros((len(course.states), len(targets)))
    for form, weight in zip(learners.FORMS, learners.FORM_WEIGHTS, strict=True):
        for i, target in enumerate(targets):
            total[:, i] += weight * chance_of_test(course.chance(target, float(form), 0.0))
    return total


def onto_grid(grid: Floats, points: Floats, weights: Floats) -> Floats:
    """Return the matrix (…, states) that spreads weights at points (…, outcomes) linearly on an even grid."""
    step = (grid[-1] - grid[0]) / (len(grid) - 1)
    place = np.clip((points - grid[0]) / step, 0.0, len(grid) - 1.0)
    low = np.minimum(place.astype(np.int64), len(grid) - 2)
    part = place - low
    row = np.arange(int(np.prod(points.shape[:-1]))).reshape(*points.shape[:-1], 1) * len(grid)
    flat = np.bincount((row + low).ravel(), (weights * (1.0 - part)).ravel(), row.size * len(grid))
    flat += np.bincount((row + low + 1).ravel(), (weights * part).ravel(), row.size * len(grid))
    return np.asarray(flat, dtype=np.float64).reshape(*points.shape[:-1], len(grid))


def block_moves(course: Course, form: float, tired: float) -> Moves:
    """Return the moves of a block of five for a known form and weariness (logits)."""
    return Moves(np.stack([_level_moves(course, level, form, tired) for level in range(course.n_levels)]))


def _level_moves(course: Course, level: int, form: float, tired: float) -> Small:
    p = course.chance(level, form, tired)
    n_met = np.arange(BLOCK + 1.0)
    weights = CHOOSE * p[:, None] ** n_met * (1.0 - p[:, None]) ** (BLOCK - n_met)
    grows = learners.GROWTH_PER_HIT * n_met
    if course.family is Family.BY_LEVELS:
        share = (weights @ grows)[:, None]
        moved = learners.learn_by_levels(np.eye(course.n_levels + 1), course.rate, level, BLOCK)
        return np.hstack((moved * (1.0 - share), moved * share)).astype(np.float32)
    points = _skill_after(course, level, p, n_met)
    stay, grow = (onto_grid(course.states, points, weights * share) for share in (1.0 - grows, grows))
    return np.hstack((stay, grow)).astype(np.float32)


def _skill_after(course: Course, level: int, p: Floats, n_met: Floats) -> Floats:
    skill = course.states[:, None]
    if course.family is Family.TOWARD_LEVEL:
        delta = course.deltas[level]
        return np.asarray(learners.learn_toward_level(skill, course.rate, delta, BLOCK, n_met, course.base))
    return np.asarray(learners.learn_at_chance(skill, course.rate, p[:, None], BLOCK, n_met, course.base))


def drifted(skill: NDArray[Any], rate: float | NDArray[Any], base: float) -> Floats:
    """Return the mean skill after a block that teaches alike at any step, met or missed: s + 5 a.

    Source: the random walk with drift of Smith et al., 2004 ("Dynamic analysis of learning"); see `randomwalk.py`.
    """
    return np.asarray(learners.bound(skill + DRIFT * BLOCK * rate, base))


def night_moves(course: Course) -> Small:
    """Return where a night takes each state, (half-lives, states, states), by the exponential law."""
    kept = np.exp2(-1.0 / np.asarray(course.half_lives))
    grid = course.states
    if course.family is Family.BY_LEVELS:
        start = np.broadcast_to(np.eye(len(grid)), (len(kept), len(grid), len(grid)))
        return np.asarray(learners.forget_by_levels(start, kept[:, None], 1), dtype=np.float32)
    points = course.base + (grid - course.base) * kept[:, None]
    return onto_grid(grid, points[..., None], np.ones((*points.shape, 1))).astype(np.float32)
