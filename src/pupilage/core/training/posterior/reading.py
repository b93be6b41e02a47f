"""What the grid says of one step: the chance of the next trial, how sure that is, and what more trials would tell."""

from dataclasses import dataclass, field
from functools import lru_cache
from math import comb, log2

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.state import Now

N_BINS = 200
"""Bins of the chance, each half a per cent wide: far finer than any interval shown."""

TEST_TRIALS = 10
TEST_MET = 8
"""The test on the hand-over day: 8 of 10."""

LONGEST_S = 4 * 3600.0


@dataclass(frozen=True)
class Reading:
    """The chance of the next trial at a step: its mean, and its whole posterior in `mass` (bins of 0.005).

    n_met, n_missed, n_helped: the trials of the current run at the step, for the sentence beside it.
    """

    mean: float
    n_met: int = 0
    n_missed: int = 0
    n_helped: int = 0
    mass: Floats = field(default_factory=lambda: np.zeros(N_BINS), compare=False, repr=False)

    @property
    def n(self) -> int:
        """Trials of the run; void ones are not among them."""
        return self.n_met + self.n_missed + self.n_helped

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """Return the central posterior interval (low, high). `level` is inside (0, 1)."""
        if not 0.0 < level < 1.0:
            raise InvalidInput.of("level", "{level} is no level; give one between 0 and 1, such as 0.9.", level=level)
        tail = (1.0 - level) / 2.0
        return self.quantile(tail), self.quantile(1.0 - tail)

    def quantile(self, q: float) -> float:
        """Return the chance below which a share q (0 to 1) of the posterior lies, linear within a bin."""
        reached = np.concatenate(([0.0], np.cumsum(self.mass)))
        return float(np.interp(q, reached / reached[-1], np.linspace(0.0, 1.0, N_BINS + 1)))

    def p_at_least(self, threshold: float) -> float:
        """Return the probability that the chance is `threshold` (0 to 1) or more."""
        if not 0.0 <= threshold <= 1.0:
            raise InvalidInput.of(
                "threshold", "{threshold} is no chance; give one between 0 and 1.", threshold=threshold
            )
        above = np.interp(threshold, np.linspace(0.0, 1.0, N_BINS + 1), np.concatenate(([0.0], np.cumsum(self.mass))))
        return float(np.clip(1.0 - above, 0.0, 1.0))

    def chance_of_at_least(self, k: int, n: int) -> float:
        """Return the predictive chance that at least k of n trials alike are met."""
        return float(self.mass @ binomial_tail(k, n))


def middles() -> Floats:
    """Return the middle of every bin of the chance."""
    return np.asarray((np.arange(N_BINS) + 0.5) / N_BINS)


def chance_of_test(p: Floats) -> Floats:
    """Return P(Bin(10, p) >= 8) = p^8 (45 (1-p)^2 + 10 p (1-p) + p^2)."""
    assert (TEST_MET, TEST_TRIALS) == (8, 10)  # noqa: S101  the closed form below is for these two
    q = 1.0 - p
    return np.asarray(p**8 * (45.0 * q * q + 10.0 * p * q + p * p))


@lru_cache(maxsize=128)
def binomial_tail(k: int, n: int) -> Floats:
    """Return P(Bin(n, p) >= k) at the middle of every bin of p."""
    p = middles()
    return np.asarray(sum(comb(n, j) * p**j * (1.0 - p) ** (n - j) for j in range(max(0, k), n + 1)) + 0.0 * p)


def spread(now: Now, delta: float, level: int, tired: float | None = None) -> tuple[float, Floats]:
    """Return the mean of the chance at this difficulty and its posterior in bins.

    level: the place of the step in its list, for the family that learns level by level.
    """
    weight, mastery = now.joint
    tired = now.tired if tired is None else tired
    p = grids.p_by_skill(now.grid, delta, tired)
    p_level = grids.p_by_mastery(now.grid, level, tired)
    by_level = mastery.sum((1, 2))
    mean = float(np.vdot(weight, p) + np.vdot(by_level, p_level))
    bins = np.minimum(N_BINS - 1, (p * N_BINS).astype(np.intp)).ravel()
    level_bins = np.minimum(N_BINS - 1, (p_level * N_BINS).astype(np.intp)).ravel()
    mass = np.bincount(bins, weight.ravel(), N_BINS) + np.bincount(level_bins, by_level.ravel(), N_BINS)
    return mean, mass / mass.sum()


def read_step(now: Now, step: int, *, counts: tuple[int, int, int] = (0, 0, 0), tired: float | None = None) -> Reading:
    """Return the chance of the next trial at a step (0-based). counts: met, missed, helped of the run there.

    Model: mixture over six models, grid cells and the three forms of the day; see docs/science/learners.md.
    tired: logits; by default as tired as the session now is.
    """
    mean, mass = spread(now, float(now.ladder.delta[step]), step, tired)
    return Reading(mean, *counts, mass)


def read_duration(now: Now, step: int, duration_s: float, *, tired: float | None = None) -> Reading:
    """Return the chance that a hold at a step lasts `duration_s` (0 or more) instead of the step's own."""
    mean, mass = spread(now, now.ladder.at_duration(step, duration_s), step, tired)
    return Reading(mean, mass=mass)


def duration_held_with(now: Now, step: int, p: float) -> float:
    """Return the longest duration in seconds that is held with chance p or more at a step; 0 when none is.

    Model: the posterior mean of the chance falls with the duration; found by bisection in log2(1 + s).
    """

    def chance(x: float) -> float:
        return read_duration(now, step, 2.0**x - 1.0).mean

    low, high = 0.0, log2(1.0 + LONGEST_S)
    if chance(low) < p:
        return 0.0
    for _ in range(12):
        middle = (low + high) / 2.0
        low, high = (middle, high) if chance(middle) >= p else (low, middle)
    return float(2.0**low - 1.0)


@dataclass(frozen=True)
class MoreTrials:
    """What more trials would tell: the width of the 90 % interval now and expected, and bits of entropy gained."""

    width_now: float
    width_expected: float
    bits: float

    @property
    def narrows(self) -> bool:
        """Whether the interval is expected to narrow: with two ways of learning in question it may widen first."""
        return self.width_expected < self.width_now


def after_more(reading: Reading, n: int = 5) -> MoreTrials:
    """Return what n more trials alike at the step would be expected to tell.

    Model: sum over k of P(k of n) of the posterior's width and entropy after k; nothing is learned in between.
    """
    p, mass = middles(), reading.mass
    low, high = reading.interval()
    expected_width = expected_entropy = 0.0
    for k in range(n + 1):
        joint = mass * (comb(n, k) * p**k * (1.0 - p) ** (n - k))
        total = float(joint.sum())
        if total <= 0.0:
            continue
        after = Reading(0.0, mass=joint / total)
        after_low, after_high = after.interval()
        expected_width += total * (after_high - after_low)
        expected_entropy += total * entropy(after.mass)
    return MoreTrials(high - low, expected_width, max(0.0, entropy(mass) - expected_entropy))


def entropy(mass: Floats) -> float:
    """Return the entropy in bits of a distribution over bins."""
    some = mass[mass > 0.0]
    return float(-(some * np.log2(some)).sum())
