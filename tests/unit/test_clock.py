"""Instants are aware, days are local, and both changes of the clocks keep days right."""

import itertools
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.clock import age_weeks, day_bounds, find_zone, local_day, require_aware
from pupilage.core.errors import InvalidInput

LISBON = ZoneInfo("Europe/Lisbon")
AUCKLAND = ZoneInfo("Pacific/Auckland")


def test_naive_instant_is_refused_and_the_sentence_says_what_to_give() -> None:
    with pytest.raises(InvalidInput, match=r"2026-03-29T10:00:00 has no time zone; give one"):
        require_aware(datetime(2026, 3, 29, 10))  # noqa: DTZ001


def test_aware_instant_comes_back_in_utc() -> None:
    at = datetime(2026, 3, 29, 10, tzinfo=timezone(timedelta(hours=2)))
    assert require_aware(at) == datetime(2026, 3, 29, 8, tzinfo=UTC)
    assert require_aware(at).tzinfo is UTC


# Source: IANA time zone database: in 2026 Europe/Lisbon goes from +00 to +01 on 29 March at 01:00 UTC and back on
# 25 October at 01:00 UTC; Pacific/Auckland goes from +13 to +12 on 5 April and back on 27 September.
@pytest.mark.parametrize(
    ("day", "zone", "hours"),
    [
        (date(2026, 3, 28), LISBON, 24),
        (date(2026, 3, 29), LISBON, 23),
        (date(2026, 10, 25), LISBON, 25),
        (date(2026, 4, 5), AUCKLAND, 25),
        (date(2026, 9, 27), AUCKLAND, 23),
    ],
)
def test_day_is_23_or_25_hours_long_when_the_clocks_change(day: date, zone: ZoneInfo, hours: int) -> None:
    start, end = day_bounds(day, zone)
    assert end - start == timedelta(hours=hours)
    assert local_day(start, zone) == day
    assert local_day(end - timedelta(microseconds=1), zone) == day
    assert local_day(end, zone) == day + timedelta(days=1)


def test_every_hour_of_a_programme_across_both_changes_falls_on_exactly_one_day() -> None:
    for first in (date(2026, 3, 20), date(2026, 10, 16)):
        days = [first + timedelta(days=n) for n in range(21)]
        bounds = [day_bounds(day, LISBON) for day in days]
        for (_, end), (start, _) in itertools.pairwise(bounds):
            assert end == start
        hour = bounds[0][0]
        while hour < bounds[-1][1]:
            assert [day for day, (start, end) in zip(days, bounds, strict=True) if start <= hour < end] == [
                local_day(hour, LISBON)
            ]
            hour += timedelta(hours=1)


@pytest.mark.parametrize("name", ["Nowhere/Else", "", "../etc/passwd", "Europe"])
def test_unknown_zone_is_refused(name: str) -> None:
    with pytest.raises(InvalidInput, match="is not a known time zone"):
        find_zone(name)


def test_age_counts_weeks_and_is_negative_before_birth() -> None:
    assert age_weeks(date(2026, 3, 1), date(2026, 4, 26)) == 8.0
    assert age_weeks(date(2026, 3, 1), date(2026, 2, 22)) == -1.0
