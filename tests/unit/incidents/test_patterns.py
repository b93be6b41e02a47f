"""A rise, a comeback and harm, on either side of each limit; worked by hand."""

from datetime import UTC, date, datetime, timedelta
from math import exp

import pytest

from pupilage.core.incidents.days import DayCount
from pupilage.core.incidents.patterns import Early, Harm, early_days, find_harm, find_return
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.teeth import BROKEN_SKIN, TO_BE_SEEN

FIRST = date(2026, 5, 4)
SKIN = next(teeth for teeth in BROKEN_SKIN if teeth not in TO_BE_SEEN)


def days(*counts_and_hours):
    return [DayCount(FIRST + timedelta(days=i), n, h) for i, (n, h) in enumerate(counts_and_hours)]


@pytest.mark.parametrize(("hours_before", "early"), [(57.1, Early.RISE), (56.9, Early.NOTHING)])
def test_a_rise_is_named_from_one_phase_in_twenty(hours_before, early):
    """One incident in three hours after none in 57: chance 3/60, as the first of one falls anywhere."""
    assert early_days(days((0, hours_before)), days((0, 1.0), (0, 1.0), (1, 1.0))) is early


@pytest.mark.parametrize(("hours_later", "early"), [(57.1, Early.BURST), (56.9, Early.RISE)])
def test_a_burst_is_named_where_the_later_days_are_rarer_by_one_in_twenty(hours_later, early):
    assert early_days(days((0, 100.0)), days((0, 1.0), (0, 1.0), (1, 1.0), (0, hours_later))) is early


def test_a_rise_that_goes_on_for_six_days_is_no_burst():
    up = [(5, 1.0)] * 6
    assert early_days(days((0, 100.0)), days(*up[:5])) is Early.RISE
    assert early_days(days((0, 100.0)), days(*up)) is Early.STILL_UP


@pytest.mark.parametrize(("quiet_hours", "is_found"), [(24.0, True), (23.9, False)])
def test_quiet_days_are_those_that_the_earlier_rate_leaves_empty_once_in_twenty(quiet_hours, is_found):
    """One in eight hours before: exp(−24/8) is 0.0498, exp(−23.9/8) is 0.0504."""
    assert (exp(-quiet_hours / 8) <= 0.05) is is_found
    quiet = [(0, quiet_hours / 3)] * 3
    found = find_return(days((5, 40.0), (5, 40.0)), days(*quiet, (1, 8.0)))
    assert (found is not None) is is_found


def test_a_return_counts_its_quiet_days_and_three_days_from_its_first():
    found = find_return(days((5, 40.0), (5, 40.0)), days(*[(0, 8.0)] * 3, (2, 8.0), (1, 8.0), (3, 8.0), (4, 8.0)))
    assert (found.quiet_days, found.since, found.n) == (3, FIRST + timedelta(days=3), 6)


def test_one_incident_before_is_a_rate_and_none_is_not():
    after = days(*[(0, 40.0)] * 3, (1, 8.0))
    assert find_return(days((1, 8.0)), after) is not None
    assert find_return(days((0, 8.0)), after) is None


@pytest.mark.parametrize(("other_hours", "named"), [(57.1, True), (56.6, False)])
def test_a_return_is_named_from_one_in_twenty_and_its_first_does_not_count(other_hours, named):
    """Two in three hours, of which the second counts, and none in the others: chance 3/(3 + others)."""
    found = find_return(days((5, 5.0)), days((0, other_hours), (1, 1.0), (1, 1.0), (0, 1.0)))
    assert (found.n, found.named) == (2, named)


def bites(n):
    return [Incident(str(i), "mouthing-hands", datetime(2026, 5, 4, tzinfo=UTC), teeth=SKIN) for i in range(n)]


@pytest.mark.parametrize(
    ("n_before", "n_since", "of_days", "harm"),
    [
        (2, 2, (10, 10), Harm.NONE),
        (2, 2, (200, 199), Harm.MORE_SKIN),
        (2, 2, (199, 200), Harm.NONE),
        (0, 1, (10, 1), Harm.MORE_SKIN),
        (3, 2, (0, 1), Harm.NONE),
        (2, 3, (1, 0), Harm.MORE_SKIN),
    ],
)
def test_skin_broken_more_often_a_day_is_harm_and_no_day_counts_as_one(n_before, n_since, of_days, harm):
    assert find_harm("mouthing-hands", bites(n_before), bites(n_since), days=of_days) is harm
