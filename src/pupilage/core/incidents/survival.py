"""How long it lasts until something happens, where some waits ended before it did."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtri

from pupilage.core.errors import InvalidInput


@dataclass(frozen=True)
class Wait:
    """Seconds waited, above 0; happened: False where the wait ended before it did (censored)."""

    seconds: float
    happened: bool


@dataclass(frozen=True)
class SurvivalCurve:
    """The share that still waits, as steps: from times[i] on it is share[i] (low to high). n: waits behind it."""

    times: NDArray[np.float64]
    share: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    n: int
    n_happened: int

    def at(self, seconds: float) -> float:
        """Return the share that still waits after so many seconds."""
        place = int(np.searchsorted(self.times, seconds, side="right"))
        return float(self.share[place - 1]) if place else 1.0

    def limits_at(self, seconds: float) -> tuple[float, float] | None:
        """Return the limits of that share; None before the first event, where Greenwood's variance is none."""
        place = int(np.searchsorted(self.times, seconds, side="right"))
        return (float(self.low[place - 1]), float(self.high[place - 1])) if place else None

    @property
    def median_s(self) -> float | None:
        """The first time at which half or fewer still wait; None where it never comes to that."""
        reached = np.flatnonzero(self.share <= 0.5)
        return float(self.times[reached[0]]) if len(reached) else None


def survival_of(waits: Sequence[Wait], *, level: float = 0.95) -> SurvivalCurve:
    """Return the product-limit estimate with limits on the complementary log-log scale.

    Model: Π (1 − d_i ÷ n_i) over the times of events; Greenwood's variance of its logarithm.
    Raises: InvalidInput without a wait or for seconds that cannot be.
    Source: Kaplan & Meier (1958), J. Am. Stat. Assoc. 53, 457-481; values in tests/external/test_survival.py.
    """
    seconds, happened = _arrays(waits)
    times = np.unique(seconds[happened])
    n_at_risk = np.asarray([(seconds >= t).sum() for t in times], dtype=float)
    n_events = np.asarray([(seconds[happened] == t).sum() for t in times], dtype=float)
    share = np.cumprod(1.0 - n_events / n_at_risk) if len(times) else np.empty(0)
    low, high = _limits(share, n_at_risk, n_events, level)
    return SurvivalCurve(times, share, low, high, len(seconds), int(happened.sum()))


def compare_waits(one: Sequence[Wait], other: Sequence[Wait]) -> tuple[float, float]:
    """Return the log-rank statistic of two groups (χ² of one degree of freedom) and its p.

    Model: at each time of an event, events of the first group less those expected of it, summed, squared and divided
    by the hypergeometric variance.
    Raises: as `survival_of`. Source: Mantel (1966), Cancer Chemotherapy Reports 50, 163-170; values in
    tests/external/test_survival.py.
    """
    a, a_happened = _arrays(one)
    b, b_happened = _arrays(other)
    excess = variance = 0.0
    for t in np.unique(np.concatenate([a[a_happened], b[b_happened]])):
        n_a, n = float((a >= t).sum()), float((a >= t).sum() + (b >= t).sum())
        d_a = float((a[a_happened] == t).sum())
        d = d_a + float((b[b_happened] == t).sum())
        excess += d_a - d * n_a / n
        if n > 1.0:
            variance += d * (n_a / n) * (1.0 - n_a / n) * (n - d) / (n - 1.0)
    if variance == 0.0:
        return 0.0, 1.0
    statistic = excess**2 / variance
    return statistic, float(chdtrc(1, statistic))


def _limits(
    share: NDArray[np.float64], n_at_risk: NDArray[np.float64], n_events: NDArray[np.float64], level: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the limits; where all have had it the share is 0 and so are both."""
    low, high = np.zeros_like(share), np.zeros_like(share)
    inside = share > 0.0
    if inside.any():
        terms = n_events[inside] / (n_at_risk[inside] * (n_at_risk[inside] - n_events[inside]))
        error = np.sqrt(np.cumsum(terms)) / np.abs(np.log(share[inside]))
        reach = float(ndtri(0.5 + level / 2.0)) * error
        low[inside] = share[inside] ** np.exp(reach)
        high[inside] = share[inside] ** np.exp(-reach)
    return low, high


def _arrays(waits: Sequence[Wait]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    if not waits:
        raise InvalidInput.of("waits", "No wait yet; log one, also where nothing happened.")
    seconds = np.asarray([wait.seconds for wait in waits], dtype=float)
    if not (np.isfinite(seconds) & (seconds > 0.0)).all():
        raise InvalidInput.of("waits", "A wait of 0 seconds or none tells nothing; give seconds above 0.")
    return seconds, np.asarray([wait.happened for wait in waits], dtype=bool)
