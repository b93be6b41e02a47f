"""Two phases beside each other: the edges of what is said, and the day's rates that it is said from."""

from datetime import date, timedelta

import pytest

from pupilage.core.incidents.comparison import compare, p_at_least
from pupilage.core.incidents.days import DayCount
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.regression import step_of, trend_of, unevenness

FIRST = date(2026, 5, 4)


def days(*counts_and_hours, start=0):
    return [DayCount(FIRST + timedelta(days=start + i), n, h) for i, (n, h) in enumerate(counts_and_hours)]


AFTER = days((1, 8.0), (0, 8.0), (1, 8.0), (0, 8.0), start=20)


def test_best_day_before_is_its_incidents_by_its_hours():
    assert compare(days((4, 8.0), (3, 10.0), (5, 5.0)), AFTER).best_day_before == pytest.approx(0.3)


def test_a_day_of_one_hour_has_a_rate_and_of_less_has_none():
    assert compare(days((4, 8.0), (0, 1.0), (5, 5.0)), AFTER).best_day_before == 0.0
    assert compare(days((4, 8.0), (0, 0.999), (5, 5.0)), AFTER).best_day_before == 0.5
    assert compare(days((4, 0.5)), AFTER).best_day_before == 0.0


def test_effect_sizes_take_three_days_in_each_phase():
    assert compare(days(*[(2, 8.0)] * 3), AFTER[:3]).effect is not None
    assert compare(days(*[(2, 8.0)] * 2), AFTER).effect is None
    assert compare(days(*[(2, 8.0)] * 3), AFTER[:2]).effect is None


def test_bad_days_just_before_are_the_last_three_and_are_left_out():
    """Three bad days after seven of one incident: the ratio without them is that of the seven, by hand."""
    found = compare(days(*[(1, 8.0)] * 7, *[(4, 8.0)] * 3), AFTER)
    assert found.began_on_bad_days
    assert found.without_bad_days.value == pytest.approx((2 / 32) / (7 / 56))


def test_first_days_left_out_are_three():
    found = compare(days(*[(2, 8.0)] * 4), days((9, 8.0), (9, 8.0), (9, 8.0), (1, 8.0), (1, 8.0), start=20))
    assert found.without_first_days.value == pytest.approx((2 / 16) / (8 / 32))


@pytest.mark.parametrize(("hours", "is_said"), [(9.0, True), (8.95, False)])
def test_the_caution_of_bad_days_is_said_from_one_chance_in_ten(hours, is_said):
    """One incident in three last hours after none in 27: its chance is 3/30, and a little more after 26.85."""
    before = days((0, hours), (0, hours), (0, hours), (0, 1.0), (0, 1.0), (1, 1.0))
    assert p_at_least(Tally(1, 3.0), Tally(0, 3 * hours)) == pytest.approx(3 / (3 + 3 * hours))
    assert compare(before, AFTER).began_on_bad_days is is_said


def test_a_trend_takes_five_incidents():
    assert trend_of(days((2, 8.0), (2, 8.0), (1, 8.0))) is not None
    assert trend_of(days((2, 8.0), (1, 8.0), (1, 8.0))) is None


def test_a_step_takes_five_days_and_an_incident_in_each_phase():
    one, other = days(*[(2, 8.0)] * 5), days(*[(1, 8.0)] + [(0, 8.0)] * 4, start=5)
    assert step_of(one, other) is not None
    assert step_of(one[:4], other) is None
    assert step_of(one, other[:4]) is None
    assert step_of(one, other[1:] + days((0, 8.0), start=10)) is None


@pytest.mark.parametrize(("hours", "is_wider"), [(1.918, False), (1.924, True)])
def test_limits_are_widened_from_days_so_uneven_in_one_record_of_twenty(hours, is_wider):
    """Two days of two incidents: chi-square with one degree of freedom, 5 % point 3.8415 (any printed table).

    With hours h and 1 and both incidents on the second day it is 2h, by hand: widened from h = 1.9207 on.
    """
    assert (unevenness([days((0, hours), (2, 1.0))]) > 1.0) is is_wider
