"""What the seconds from cue to behaviour say of how likely the tries were: latency as evidence on the skill.

**Model**: the mean log time of a block's n met tries ~ N(pace - b ease, s^2 (0.8 / n + 0.2)), ease the logit of a try's
chance; starts of one block hang together, so five are not five. b is one of a few slopes, half of the belief on 0:
where latency tells nothing it soon counts for nothing. Pace and s^2 have the weak prior of `latencies`, a law for each
slope, so that a block's mean is Student's t. Every cell is weighed by the average over the slopes, at its chance in
steps of 0.005; pace, spread and slopes then learn from the block's mean ease.
Assumes: pace and slope do not depend on the cell. A try that was missed has no latency: that it was missed is counted
already, whatever time its criterion allows.
Source: own design (docs/decisions/0007-latency.md); Student's t against scipy.stats in tests/external/test_starts.py.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.grid import Block, Factors, Grid
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, Floats

SLOPES = np.array([0.0, 0.1, 0.2, 0.35])
SLOPE_WEIGHTS = np.array([0.5, 0.2, 0.2, 0.1])
"""Log seconds by which a start comes sooner a logit of ease, and what is believed of each before the first one."""

PRIOR_MEAN, PRIOR_TRIALS, PRIOR_SHAPE, PRIOR_SCALE = float(np.log(1.5)), 0.5, 1.5, 0.3
"""About 1.5 s, worth half a start, and a spread (sd of the log) of some 0.45 (common practice, no source)."""

EASE_OF_PRIOR = 1.0
"""The ease at which the prior's 1.5 s are expected: a try met about three times in four."""

TOGETHER = 0.2
"""Share of a start's variance that it has in common with the other starts of its block (an assumption)."""

LEAST_LOG_WEIGHT = -12.0
"""No slope is ever beyond recall."""

N_BINS = 200
LOG_FORM_WEIGHTS = np.log(FORM_WEIGHTS)[:, None]

Places = NDArray[np.intp]


@dataclass(frozen=True)
class Timing:
    """What is believed of a behaviour's starts, an entry a slope (S,).

    log_weights of the slopes; mean, of the log seconds at even odds, ~ N(mean, s^2 / trials), s^2 ~ inverse
    gamma(shape, scale).
    """

    log_weights: Floats
    mean: Floats
    trials: Floats
    shape: Floats
    scale: Floats

    @property
    def weights(self) -> Floats:
        """Return the weights of the slopes; they add up to 1."""
        weights = np.exp(self.log_weights - self.log_weights.max())
        return np.asarray(weights / weights.sum())

    def log_likelihood(self, ease: Floats, mean_log_s: float, n: int) -> Floats:
        """Return the log likelihood (S, E) of the mean of a block's n log times at each ease (E,), without a constant.

        Model: Student's t with 2 shape degrees of freedom, scale^2 = scale / shape (0.8 / n + 0.2 + 1 / trials).
        """
        gap = mean_log_s - self.mean[:, None] + SLOPES[:, None] * ease
        freedom = 2.0 * self.shape[:, None]
        square = (self.scale / self.shape * (1.0 / worth_starts(n) + 1.0 / self.trials))[:, None]
        return np.asarray(-0.5 * (freedom + 1.0) * np.log1p(gap**2 / (freedom * square)) - 0.5 * np.log(square))

    def after(self, ease: float, mean_log_s: float, n: int, log_evidence: Floats) -> "Timing":
        """Return the belief after a block: its mean ease in logits, its n log times, and what it says of each slope."""
        centre, worth = mean_log_s + SLOPES * ease, worth_starts(n)
        trials = self.trials + worth
        between = self.trials * worth * (centre - self.mean) ** 2 / trials
        log_weights = self.log_weights + log_evidence
        return replace(
            self,
            log_weights=np.maximum(log_weights - log_weights.max(), LEAST_LOG_WEIGHT),
            mean=(self.trials * self.mean + worth * centre) / trials,
            trials=trials,
            shape=self.shape + 0.5,
            scale=self.scale + 0.5 * between,
        )


def worth_starts(n: int) -> float:
    """Return how many starts that have nothing in common n starts of one block are worth."""
    return 1.0 / ((1.0 - TOGETHER) / n + TOGETHER)


@lru_cache(maxsize=1)
def fresh_timing() -> Timing:
    """Return the belief before the first start."""
    same = np.ones_like(SLOPES)
    mean = PRIOR_MEAN + SLOPES * EASE_OF_PRIOR
    return Timing(np.log(SLOPE_WEIGHTS), mean, PRIOR_TRIALS * same, PRIOR_SHAPE * same, PRIOR_SCALE * same)


@lru_cache(maxsize=1)
def _bins() -> tuple[Floats, Floats]:
    """Return the chance in the middle of every bin, and its ease in logits."""
    p = (np.arange(N_BINS) + 0.5) / N_BINS
    return p, np.log(p / (1.0 - p))


def weigh_starts(grid: Grid, block: Block, timing: Timing, log_models: Floats) -> tuple[Factors, Timing]:
    """Return what the log seconds of a block's met tries say of every cell and level before it, and the belief after.

    The grid has not seen the block yet: hand the factors on to `grid.observe`. log_models (6,): the log weights of the
    models before today.
    """
    n, mean_log_s = len(block.log_s), sum(block.log_s) / len(block.log_s)
    p, ease = _bins()
    by_skill = _places(grids.p_by_skill(grid, block.delta, block.tired))
    by_level = _places(grids.p_by_mastery(grid, block.level, block.tired))
    mass = _mass(grid, log_models, by_skill, by_level) * p**block.n_met * (1.0 - p) ** block.n_not_met
    log_each = timing.log_likelihood(ease, mean_log_s, n)
    each = np.exp(log_each - log_each.max())
    factor = timing.weights @ each
    log_evidence = np.log(np.maximum(each @ mass, grids.TINY))
    mass_after = mass * factor
    mean_ease = float(mass_after @ ease) / max(float(mass_after.sum()), grids.TINY)
    return (factor[by_skill], factor[by_level]), timing.after(mean_ease, mean_log_s, n, log_evidence)


def _places(p: Floats) -> Places:
    return (p * N_BINS).astype(np.intp)


def _mass(grid: Grid, log_models: Floats, by_skill: Places, by_level: Places) -> Floats:
    """Return what is believed of the chance of a try, in bins; not normalised."""
    log_joint = log_models + LOG_FORM_WEIGHTS + grid.log_evidence
    joint = np.exp(log_joint - log_joint.max())
    k = grids.N_SKILL_MODELS
    skill = (joint[:, :k, None] * grid.weight).ravel()
    level = (joint[:, k:, None] * grid.mastery.sum(2)).sum(1).ravel()
    return np.asarray(np.bincount(by_skill.ravel(), skill, N_BINS) + np.bincount(by_level.ravel(), level, N_BINS))
