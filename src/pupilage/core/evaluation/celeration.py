"""Celeration: by how much a count per minute multiplies from week to week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from math import ceil, isfinite, sqrt
from statistics import NormalDist, median

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.words import Figure, Sentence, sentence

WEEK_DAYS = 7
LEAST_DAYS = 5
"""With fewer days no line is drawn: two dots always lie on one (common practice, no source)."""

BELOW_FLOOR = 0.5
"""A day without a count stands at half of the least that could have been counted: one in its minutes. Common practice,
from memory; a logarithm has no place for zero."""

LEVEL = 0.9


@dataclass(frozen=True)
class DayRate:
    """What was counted on a day, in so many minutes of watching (more than 0)."""

    day: date
    n: int
    minutes: float

    @property
    def floor(self) -> float:
        """The least count per minute, other than none, that could have been seen."""
        return 1.0 / self.minutes

    @property
    def per_min(self) -> float:
        """The count per minute; see BELOW_FLOOR for a day without any."""
        return max(self.n, BELOW_FLOOR) / self.minutes


@dataclass(frozen=True)
class Factor:
    """A change a week as a factor, with its 90 % interval: 1.4 is ×1.4, 0.5 is ÷2."""

    value: float
    low: float
    high: float

    @property
    def is_sure(self) -> bool:
        """Whether the interval lies on one side of no change."""
        return self.low > 1.0 or self.high < 1.0


@dataclass(frozen=True)
class Celeration:
    """The line through the days, on a log axis. first_per_min, last_per_min: where it stands on the first and last day.

    per_week: by least squares. robust: by the median of slopes, which one strange day does not move.
    """

    per_week: Factor
    robust: Factor
    first_per_min: float
    last_per_min: float
    n_days: int


def change_a_week(first_per_min: float, last_per_min: float, days: float) -> float:
    """Return the factor a week between two counts per minute: (last / first)^(7 / days).

    Raises: InvalidInput for rates or days that are not above 0.
    Checked in tests/external/test_celeration.py.
    """
    if not all(isfinite(x) and x > 0.0 for x in (first_per_min, last_per_min, days)):
        raise InvalidInput.of("rates", "Give two counts per minute above 0, and the days between them.")
    return float((last_per_min / first_per_min) ** (WEEK_DAYS / days))


def celerate(rates: Sequence[DayRate]) -> Celeration | None:
    """Return the celeration of a count per minute; None under LEAST_DAYS days.

    Model: log10 of the rate is a straight line over calendar days, with scatter alike on every day; celeration is
    10^(7 slope). Interval: Student's t for least squares, Kendall's S for the median of slopes, both 90 %.
    Parameters: rates, one a day, in any order. Raises: InvalidInput for a day twice, or minutes not above 0.
    Source: Pennypacker, Gutierrez & Lindsley, 2003, Handbook of the Standard Celeration Chart (from memory); Sen, 1968,
    J. Am. Stat. Assoc. 63:1379-1389 (the median of slopes and its limits); checked in
    tests/external/test_celeration.py.
    """
    ordered = sorted(rates, key=lambda rate: rate.day)
    _require_days(ordered)
    if len(ordered) < LEAST_DAYS:
        return None
    x = np.array([(rate.day - ordered[0].day).days for rate in ordered], dtype=np.float64)
    y = np.log10([rate.per_min for rate in ordered])
    slope, low, high, intercept = least_squares(x, y)
    return Celeration(
        per_week=_factor(slope, low, high),
        robust=_factor(*median_slope(x, y)),
        first_per_min=float(10.0**intercept),
        last_per_min=float(10.0 ** (intercept + slope * x[-1])),
        n_days=len(ordered),
    )


def _require_days(ordered: Sequence[DayRate]) -> None:
    if any(not (isfinite(rate.minutes) and rate.minutes > 0.0 and rate.n >= 0) for rate in ordered):
        raise InvalidInput.of("rates", "Give a count of 0 or more in minutes above 0 for every day.")
    if len({rate.day for rate in ordered}) < len(ordered):
        raise InvalidInput.of("rates", "Give each day once; add up what was counted on it.")


def _factor(slope: float, low: float, high: float) -> Factor:
    """Return slopes of log10 a day as factors a week, within what a float holds."""
    a_week = [float(10.0 ** min(300.0, max(-300.0, WEEK_DAYS * one))) for one in (slope, low, high)]
    return Factor(*a_week)


def least_squares(x: np.ndarray, y: np.ndarray, level: float = LEVEL) -> tuple[float, float, float, float]:
    """Return slope, its lower and upper limit, and intercept; three points or more, not all at one x."""
    from scipy.special import stdtrit

    n, off = len(x), x - x.mean()
    s_xx = float(off @ off)
    slope = float(off @ y) / s_xx
    intercept = float(y.mean()) - slope * float(x.mean())
    rest = y - intercept - slope * x
    t = float(stdtrit(n - 2, 0.5 + level / 2.0))
    half = t * sqrt(float(rest @ rest) / (n - 2) / s_xx)
    return slope, slope - half, slope + half, intercept


def median_slope(x: np.ndarray, y: np.ndarray, level: float = LEVEL) -> tuple[float, float, float]:
    """Return the median of the slopes of all pairs, and the limits between which its true value lies.

    Model: the limits are order statistics of the slopes, as many from either end as Kendall's S, its variance put
    right for ties in y, leaves outside (Sen 1968). x: all different. Holds for twenty pairs or so and more; with very
    few days the limits are the extreme slopes.
    """
    slopes = sorted((y[j] - y[i]) / (x[j] - x[i]) for i, j in combinations(range(len(x)), 2))
    n, n_slopes = len(x), len(slopes)
    _, ties = np.unique(y, return_counts=True)
    variance = (n * (n - 1) * (2 * n + 5) - sum(k * (k - 1) * (2 * k + 5) for k in ties)) / 18.0
    spread = NormalDist().inv_cdf(0.5 + level / 2.0) * sqrt(max(0.0, float(variance)))
    upper = min(n_slopes - 1, ceil((n_slopes + spread) / 2.0 - 0.5))
    lower = max(0, ceil((n_slopes - spread) / 2.0 - 0.5) - 1)
    return float(median(slopes)), float(slopes[lower]), float(slopes[upper])


def say_factor(value: float) -> str:
    """Return a factor as the trade writes it: ×1.40, or ÷1.40 for a fall; beyond a thousand, a thousand."""
    return f"×{min(value, 1e3):.2f}" if value >= 1.0 else f"÷{min(1.0 / value, 1e3):.2f}"


def say_celeration(found: Celeration | None, n_days: int) -> Sentence:
    """Return one sentence on the line and how sure it is."""
    if found is None:
        return sentence("Not enough yet for a line: has {n} of {need} days with a count.", n=n_days, need=LEAST_DAYS)
    figures: dict[str, Figure] = {
        "per_week": say_factor(found.per_week.value),
        "low": say_factor(found.per_week.low),
        "high": say_factor(found.per_week.high),
        "n": found.n_days,
    }
    if not found.per_week.is_sure:
        return sentence(
            "From {n} days: {per_week} a week, but anything from {low} to {high} fits, no change among it.", **figures
        )
    return sentence("From {n} days: {per_week} a week; {low} to {high} fits.", **figures)
