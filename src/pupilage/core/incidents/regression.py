"""Counts of days as a Poisson regression with free hours as exposure: a trend, and a step beside it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtri

from pupilage.core.incidents.days import DayCount
from pupilage.core.incidents.rates import Interval

FEWEST_EVENTS = 5
"""Incidents below which no trend is stated."""

FEWEST_FOR_STEP = 5
"""Days in either phase below which a step is not told from a trend (an assumption)."""

WIDER = 0.05
"""Chance of days so uneven, were they Poisson, from which the limits are widened."""


@dataclass(frozen=True)
class Step:
    """A rate that changes by `a_week` each week all along, and by `step` at the start; ratios with 95 % limits."""

    a_week: Interval
    step: Interval


def trend_of(days: Sequence[DayCount]) -> Interval | None:
    """Return by what a rate is multiplied each week, with 95 % limits; None where the days cannot tell.

    Model: log rate = a + b·week, Poisson with the free hours as exposure; Wald limits.
    Source: McCullagh & Nelder (1989), Generalized Linear Models, ch. 6; statsmodels' values in
    tests/external/test_phase_comparison.py.
    """
    if sum(day.n for day in days) < FEWEST_EVENTS:
        return None
    fitted = _fit(np.column_stack([np.ones(len(days)), _weeks(days)]), days)
    return None if fitted is None else _ratio(fitted, 1)


def step_of(before: Sequence[DayCount], after: Sequence[DayCount]) -> Step | None:
    """Return the step between two phases beside a trend through both; None where the days cannot tell them apart.

    Model: log rate = a + b·week + c·(after), Poisson with the free hours as exposure; Wald limits.
    Source: as `trend_of`; R44b in tests/external/test_phase_comparison.py.
    """
    if (
        min(sum(day.n for day in before), sum(day.n for day in after)) < 1
        or min(len(before), len(after)) < FEWEST_FOR_STEP
    ):
        return None
    days = [*before, *after]
    phase = np.repeat([0.0, 1.0], [len(before), len(after)])
    fitted = _fit(np.column_stack([np.ones(len(days)), _weeks(days), phase]), days)
    return None if fitted is None else Step(_ratio(fitted, 1), _ratio(fitted, 2))


def unevenness(phases: Sequence[Sequence[DayCount]]) -> float:
    """Return by what the spread of the days exceeds Poisson's, each phase at its own rate; 1 where chance explains it.

    Model: Pearson's chi-square over its degrees of freedom, taken where its chance is below 0.05, else 1.
    Source: McCullagh & Nelder (1989), section 4.5; statsmodels' value in tests/external/test_phase_comparison.py.
    """
    chi2, free = 0.0, 0
    for days in phases:
        n, hours = np.array([day.n for day in days]), np.array([day.hours for day in days])
        if n.sum():
            expected = n.sum() * hours / hours.sum()
            chi2 += float(((n - expected) ** 2 / expected).sum())
            free += len(days) - 1
    return chi2 / free if free > 0 and chdtrc(free, chi2) < WIDER and chi2 > free else 1.0


def widened(ratio: Interval, unevenness: float) -> Interval:
    """Return the limits moved away from the value, on the log scale, by the root of the unevenness."""
    root = unevenness**0.5
    if root == 1.0 or not (0.0 < ratio.value < np.inf):
        return ratio
    low, high = (float(ratio.value * (limit / ratio.value) ** root) for limit in (ratio.low, ratio.high))
    return Interval(ratio.value, low, high)


_Fitted = tuple[NDArray[np.float64], NDArray[np.float64]]


def _fit(x: NDArray[np.float64], days: Sequence[DayCount]) -> _Fitted | None:
    """Return coefficients and their covariance by Newton's steps; None where they run away or the days do not tell."""
    n, log_hours = np.array([float(day.n) for day in days]), np.log([day.hours for day in days])
    if np.linalg.matrix_rank(x) < x.shape[1]:
        return None
    beta: NDArray[np.float64] = np.zeros(x.shape[1])
    beta[0] = np.log(n.sum() / np.exp(log_hours).sum())
    for _ in range(60):
        mean = np.exp(np.clip(x @ beta + log_hours, -50.0, 50.0))
        information = x.T @ (mean[:, None] * x)
        if np.linalg.cond(information) > 1e12:
            return None
        move = np.linalg.solve(information, x.T @ (n - mean))
        beta = beta + np.clip(move, -2.0, 2.0)
        if np.abs(move).max() < 1e-10:
            return beta, np.asarray(np.linalg.inv(information), dtype=np.float64)
    return None


def _ratio(fitted: _Fitted, place: int) -> Interval:
    beta, covariance = fitted
    half = -float(ndtri(0.025)) * float(np.sqrt(covariance[place, place]))
    value = float(beta[place])
    return Interval(*(float(np.exp(each)) for each in (value, value - half, value + half)))


def _weeks(days: Sequence[DayCount]) -> NDArray[np.float64]:
    return np.array([(day.day - days[0].day).days / 7.0 for day in days])
