"""Intervals at their edges; their values are checked in tests/external."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.intervals import clopper_pearson, wilson

BOTH = pytest.mark.parametrize("interval", [clopper_pearson, wilson])


@BOTH
def test_without_trials_any_rate_is_possible(interval):
    assert interval(0, 0) == (0.0, 1.0)


@BOTH
def test_ends_are_exactly_zero_and_one_when_none_or_all_are_met(interval):
    assert interval(0, 7)[0] == 0.0
    assert interval(7, 7)[1] == 1.0


@BOTH
def test_interval_holds_the_share_and_is_wider_at_a_higher_level(interval):
    narrow, wide = interval(7, 10, 0.8), interval(7, 10, 0.99)
    assert wide[0] < narrow[0] < 0.7 < narrow[1] < wide[1]


@BOTH
def test_turning_met_and_missed_round_mirrors_the_interval(interval):
    low, high = interval(3, 11)
    assert interval(8, 11) == pytest.approx((1.0 - high, 1.0 - low), abs=1e-12)


@BOTH
@pytest.mark.parametrize(("met", "n"), [(3, 2), (-1, 5), (float("nan"), 5), (0, -1)])
def test_counts_that_cannot_be_are_refused(interval, met, n):
    with pytest.raises(InvalidInput, match="cannot be"):
        interval(met, n)


@BOTH
@pytest.mark.parametrize("level", [0.0, 1.0, 95, float("nan")])
def test_level_outside_its_range_is_refused(interval, level):
    with pytest.raises(InvalidInput, match="level"):
        interval(4, 5, level)
