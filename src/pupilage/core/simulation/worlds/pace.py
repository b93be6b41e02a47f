"""Answers' latencies as a second channel: log-normal about the dog's own pace, which is learnt along the way."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.kennel import LATENCY_SD, LATENCY_SLOPE
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import Whole
from pupilage.core.simulation.worlds.season import Outcomes

PACE_MEAN, PACE_VARIANCE = 0.4, 0.09
"""Log seconds at even odds, over dogs: what is believed before a dog's first answer."""


@dataclass(frozen=True)
class Timed:
    """A block's latencies: mean log, its noise, and its place beside the pace believed; (n,) each.

    has: whether there was an answer. scale: half the precision of the place, 0 where there was none.
    """

    has: NDArray[np.bool_]
    mean_log: Array
    noise: Array
    place: Array
    scale: Array

    def likelihood(self, p: Array) -> Array:
        """Return the likelihood of the mean log latency at chances (n, 3, cells), its constant left out."""
        gap = self.place[:, None, None] + LATENCY_SLOPE * ease(p)
        value: Array = np.exp(-self.scale[:, None, None] * np.square(gap))
        return value.astype(p.dtype)


class Pace:
    """What is believed of N dogs' paces: normal, mean and variance (N,)."""

    def __init__(self, n: int) -> None:
        self.mean, self.variance = np.full(n, PACE_MEAN), np.full(n, PACE_VARIANCE)

    def timed(self, outcomes: Outcomes) -> Timed:
        """Return the latencies of a block beside what is believed of the dogs' pace."""
        rows, answered = outcomes.rows, np.isfinite(outcomes.latency_s)
        n_answers = np.maximum(1, answered.sum(1))
        logs = np.where(answered, np.log(np.where(answered, outcomes.latency_s, 1.0)), 0.0)
        mean_log, noise, has = logs.sum(1) / n_answers, LATENCY_SD**2 / n_answers, np.asarray(answered.any(1))
        scale = np.where(has, 0.5 / (self.variance[rows] + noise), 0.0)
        return Timed(has, mean_log, noise, mean_log - self.mean[rows], scale)

    def learn(self, rows: Whole, timed: Timed, mean_ease: Array, variance_of_ease: Array) -> None:
        """Take in a block: a normal update, what is not known of the ease added to the noise."""
        seen = timed.mean_log + LATENCY_SLOPE * mean_ease
        noise = timed.noise + LATENCY_SLOPE**2 * variance_of_ease
        before, mean = self.variance[rows], self.mean[rows]
        gain = np.where(timed.has, before / (before + noise), 0.0)
        self.mean[rows] = mean + gain * (seen - mean)
        self.variance[rows] = before * (1.0 - gain)


def ease(p: Array) -> Array:
    """Return the logit of a chance, from 0.995 on taken as if one minus the chance were 0.005."""
    value: Array = np.log(p) - np.log1p(-np.minimum(p, p.dtype.type(0.995)))
    return value


def moments(*parts: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return mean and variance (n,) of values (n, 3, cells) under weights that add up to 1 over all parts."""
    mean = sum(np.einsum("nfs,nfs->n", value, weight) for value, weight in parts)
    square = sum(np.einsum("nfs,nfs->n", np.square(value), weight) for value, weight in parts)
    return np.asarray(mean), np.maximum(0.0, np.asarray(square) - np.square(mean))
