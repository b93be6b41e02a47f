"""Celeration against printed figures, a published example of the robust line, and two libraries' regressions."""

from datetime import date, timedelta

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pupilage.core.evaluation.celeration import (
    DayRate,
    celerate,
    change_a_week,
    least_squares,
    median_slope,
    say_factor,
)

MONDAY = date(2026, 3, 2)


def rates(per_min: list[float], days: list[int] | None = None, minutes: float = 1000.0) -> list[DayRate]:
    """Days with these counts per minute; a thousand minutes a day make the counts whole to three places."""
    at = range(len(per_min)) if days is None else days
    return [DayRate(MONDAY + timedelta(days=d), round(p * minutes), minutes) for d, p in zip(at, per_min, strict=True)]


@pytest.mark.parametrize(
    ("first", "last", "days", "factor"),
    [
        (10.0, 25.0, 28, 1.2574),  # worked example of the project's trade notes, 5.6: 10 to 25 a minute in 28 days
        (1.0, 1.1041, 1, 2.0),  # the same: ×2 a week is ×1.1041 a day
        (1.0, 2.441, 28, 1.25),  # the same: ×1.25 a week for four weeks is ×2.441
        (20.0, 10.0, 7, 0.5),  # ÷2 by definition
        (10.0, 12.0, 7, 1.2),  # ×1.20 is 20 % a week more
    ],
)
def test_two_counts_give_the_printed_factor(first: float, last: float, days: int, factor: float) -> None:
    assert change_a_week(first, last, days) == pytest.approx(factor, abs=5e-4)


def test_doubling_every_week_goes_through_six_decades_in_140_days() -> None:
    """The standard day chart has 140 days and six decades, and its diagonal is ×2 a week.

    Pennypacker, Gutierrez & Lindsley, 2003, Handbook of the Standard Celeration Chart (from memory).
    """
    assert change_a_week(1.0, 1e6, 140) == pytest.approx(2.0, rel=0.01)


def test_line_through_a_steady_growth_finds_it_exactly() -> None:
    found = celerate(rates([2.0 * 1.4 ** (d / 7) for d in range(15)], minutes=1e9))
    assert found is not None
    assert found.per_week.value == pytest.approx(1.4, rel=1e-6)
    assert found.robust.value == pytest.approx(1.4, rel=1e-6)
    assert (found.first_per_min, found.last_per_min) == pytest.approx((2.0, 2.0 * 1.4**2), rel=1e-6)


SEN_X = np.array([1.0, 2.0, 3.0, 4.0, 10.0, 12.0, 18.0])
SEN_Y = np.array([9.0, 15.0, 19.0, 20.0, 45.0, 55.0, 78.0])


def test_median_of_slopes_is_that_of_the_published_example() -> None:
    """Sen, 1968, J. Am. Stat. Assoc. 63:1379-1389, the example of its last section: slope 4, limits 3.71 and 4.38
    at 93 %. Data and figures as SciPy's own tests have them."""
    slope, low, high = median_slope(SEN_X, SEN_Y, 0.93)
    assert slope == pytest.approx(4.0)
    assert (low, high) == pytest.approx((3.71, 4.38), abs=5e-3)


series = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 400)), min_size=6, max_size=25, unique_by=lambda p: p[0])


@given(series)
def test_least_squares_are_those_of_statsmodels(points: list[tuple[int, int]]) -> None:
    x, y = np.array([p[0] for p in points], float), np.log10([p[1] / 10 for p in points])
    fitted = sm.OLS(y, sm.add_constant(x)).fit()
    low, high = fitted.conf_int(alpha=0.1)[1]
    assert least_squares(x, y) == pytest.approx((fitted.params[1], low, high, fitted.params[0]), abs=1e-9)


@given(series)
def test_median_of_slopes_is_that_of_scipy(points: list[tuple[int, int]]) -> None:
    x, y = np.array([p[0] for p in points], float), np.log10([p[1] / 10 for p in points])
    theirs = stats.theilslopes(y, x, 0.9)
    assert median_slope(x, y)[0] == pytest.approx(theirs.slope, abs=1e-9)


@given(series)
def test_limits_of_the_median_of_slopes_are_those_of_scipy(points: list[tuple[int, int]]) -> None:
    x, y = np.array([p[0] for p in points], float), np.log10([p[1] / 10 for p in points])
    theirs = stats.theilslopes(y, x, 0.9)
    assert median_slope(x, y)[1:] == pytest.approx((theirs.low_slope, theirs.high_slope), abs=1e-9)


def test_one_strange_day_moves_least_squares_and_not_the_robust_line() -> None:
    """The robust line beside statsmodels' regression with Huber's weights, on a day sixty times the others."""
    per_min = [2.0 * 1.3 ** (d / 7) for d in range(14)]
    per_min[12] *= 60.0
    found = celerate(rates(per_min, minutes=1e6))
    x, y = np.arange(14.0), np.log10(per_min)
    huber = 10.0 ** (7.0 * sm.RLM(y, sm.add_constant(x)).fit().params[1])
    assert found is not None
    assert found.per_week.value > 1.8
    assert found.robust.value == pytest.approx(1.3, rel=0.05)
    assert found.robust.value == pytest.approx(huber, rel=0.1)


@pytest.mark.parametrize(("value", "words"), [(1.4, "×1.40"), (0.5, "÷2.00"), (1.0, "×1.00"), (1e9, "×1000.00")])
def test_factor_is_written_as_the_trade_writes_it(value: float, words: str) -> None:
    assert say_factor(value) == words
