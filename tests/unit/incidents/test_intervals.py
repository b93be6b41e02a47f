import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.intervals import first_interval, next_interval
from pupilage.core.incidents.rates import Tally


def test_twelve_in_half_an_hour_begin_with_two_minutes():
    # Computed from the rule: a mean of 2.5 minutes between two, and a little below that.
    assert first_interval(Tally(12, 30.0)).seconds == pytest.approx(120.0)


def test_interval_grows_after_three_in_a_row_and_shrinks_when_it_came():
    assert next_interval(100.0, 2).seconds == 100.0
    assert next_interval(100.0, 3).seconds == pytest.approx(115.0)
    assert next_interval(100.0, 0).seconds == pytest.approx(60.0)
    assert next_interval(6.0, 0).seconds == 5.0


def test_no_response_and_no_interval_are_refused():
    with pytest.raises(InvalidInput):
        first_interval(Tally(0, 30.0))
    with pytest.raises(InvalidInput):
        next_interval(0.0, 1)
