"""What a season is worth: the goals met in a cold test, expected over the test's own chance; and what is made of it."""

from dataclasses import dataclass

import numpy as np
from scipy.special import bdtrc

from pupilage.core.simulation.worlds.laws import Array, Number

NEED, TEST_TRIALS = 8, 10


def p_pass(p: Number) -> Array:
    """Return P(at least 8 of 10 met), p the chance of each. Checked against scipy.stats.binom."""
    chance: Array = bdtrc(NEED - 1, TEST_TRIALS, np.asarray(p, dtype=np.float64))
    return chance


def mean_and_error(scores: Array) -> tuple[float, float]:
    """Return the mean over dogs and its standard error."""
    return float(scores.mean()), float(scores.std(ddof=1) / np.sqrt(len(scores)))


@dataclass(frozen=True)
class Figure:
    """A figure, its standard error over dogs, and what each dog contributes to it (N,), with mean 0.

    The contributions let figures of several worlds be averaged whose dogs were drawn alike.
    """

    value: float
    error: float
    by_dog: Array


def _figure(value: float, by_dog: Array) -> Figure:
    return Figure(value, float(by_dog.std(ddof=1) / np.sqrt(len(by_dog))), by_dog)


def gap_closed(scores: Array, below: Array, above: Array) -> Figure:
    """Return the share of the way from one policy to another that a third has gone; scores (N,) of the same dogs.

    Model: r = mean(score − below) / mean(above − below); its error by the delta method, dog by dog:
    (score − below − r (above − below)) / mean(above − below).
    Checked against a bootstrap in tests/unit/simulation/test_scoring.py.
    """
    way = above - below
    share = float((scores - below).mean() / way.mean())
    return _figure(share, (scores - below - share * way) / way.mean())


def mean_difference(scores: Array, other: Array) -> Figure:
    """Return by how many goals one policy is ahead of another with the same dogs, and the paired error."""
    difference = scores - other
    return _figure(float(difference.mean()), difference - difference.mean())


def mean_of(figures: list[Figure]) -> Figure:
    """Return the plain mean of figures of several worlds; the n-th dog of each was drawn from the same luck."""
    return _figure(float(np.mean([one.value for one in figures])), np.mean([one.by_dog for one in figures], axis=0))
