"""How far a pup is, and what its record does not prove."""

from datetime import timedelta

import pytest

from pupilage.core.care.events import CareKind
from pupilage.core.care.toilet.progress import progress_of
from pupilage.core.care.toilet.reading import read_toilet
from pupilage.core.errors import InvalidInput
from pupilage.core.garwood import rate_limits
from toilet_logs import BORN, LISBON, NOTHING, NOW, WEE, ago, at, day_of_outings

OUT, IN = CareKind.OUTING, CareKind.INDOORS


def progress(*log, now=NOW):
    return progress_of(log, born_on=BORN, zone=LISBON, now=now, risk=0.05)


def days(first: int, last: int):
    return [event for day in range(first, last + 1) for event in day_of_outings(day, n=3)]


def test_empty_log_says_so():
    found = progress()
    assert (found.dry_days, found.most_a_day, found.outdoors, found.weeks) == (0, None, None, ())
    assert str(found.dry) == "Nothing is logged yet, so nothing is known."


def test_fourteen_dry_days_do_not_prove_that_none_will_come():
    found = progress(*days(1, 14))
    assert found.dry_days == 14
    assert found.most_a_day == pytest.approx(0.263, abs=0.001)
    assert "up to 0.26 a day would still fit it, one in 4 days" in str(found.dry)
    assert "16 days more" in str(found.supervision)


def test_days_count_from_the_last_accident_and_only_where_something_is_written():
    found = progress(*days(1, 4), *days(8, 14), at(IN, NOW - timedelta(days=10), WEE))
    assert found.dry_days == 2 + 4  # days 9 and 8, and 4 to 1; nothing was written on days 5 to 7


def test_month_without_an_accident_lets_supervision_be_relaxed():
    found = progress(*days(1, 30))
    assert "may be relaxed" in str(found.supervision)


def test_accident_today_is_no_dry_day():
    found = progress(*days(1, 3), ago(IN, 30, WEE))
    assert (found.dry_days, found.most_a_day) == (0, None)
    assert "since the last one" in str(found.dry)


def test_share_outdoors_has_its_interval_and_empty_trips_do_not_count():
    found = progress(*days(1, 3), ago(OUT, 60, NOTHING), ago(IN, 30, WEE))
    share, low, high = found.outdoors
    assert share == pytest.approx(9 / 10)
    # Wilson interval of 9 of 10: printed in the list of reference values
    assert (low, high) == (pytest.approx(0.5958, abs=5e-5), pytest.approx(0.9821, abs=5e-5))


def test_weeks_show_how_the_safe_time_grew():
    found = progress(*days(1, 20))
    assert [week.n_outdoors for week in found.weeks] == [21, 21, 18]
    awake = [week.awake_min for week in found.weeks]
    assert awake == sorted(awake)
    assert all(week.awake_min < week.resting_min < week.night_min for week in found.weeks)


@pytest.mark.parametrize(
    ("n", "days_seen", "level"), [(-1, 1.0, 0.95), (1, 0.0, 0.95), (1, float("nan"), 0.95), (1, 1.0, 1.0)]
)
def test_rates_of_nothing_are_refused(n, days_seen, level):
    with pytest.raises(InvalidInput):
        rate_limits(n, days_seen, level)


def test_reading_puts_it_all_together():
    found = read_toilet(days(1, 9), born_on=BORN, zone=LISBON, now=NOW, risk=0.05)
    assert {line.doing.value for line in found.curve} == {"awake", "resting", "night"}
    for line in found.curve:
        chances = [p for _, p in line.points]
        assert chances[0] == 0.0
        assert chances == sorted(chances)
    assert 0.0 < found.prior_share["wee"] < 1.0
    assert (found.n_outings, found.n_later) == (27, 0)
