"""Which day it is, and which instant the kitchen clock shows, also when the clocks change."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.stay import stay_of

# Source of the dates: IANA time zone database, Europe/Lisbon (EU rule): forward at 01:00 UTC on 29 March 2026,
# back at 01:00 UTC on 25 October 2026.
SPRING = datetime(2026, 4, 2, 9, 0, tzinfo=UTC)
AUTUMN = datetime(2026, 10, 30, 9, 0, tzinfo=UTC)


def test_today_is_the_eleventh_day() -> None:
    stay = stay_of(datetime(2026, 5, 12, 10, 20, tzinfo=UTC), "Europe/Lisbon")
    assert stay.arrival_on == date(2026, 5, 2)
    assert stay.day(10) == date(2026, 5, 12)
    assert stay.handover_on == date(2026, 5, 23)


def test_the_local_day_counts_and_not_the_day_in_utc() -> None:
    late = datetime(2026, 5, 12, 23, 30, tzinfo=UTC)
    assert stay_of(late, "Pacific/Auckland").day(10) == date(2026, 5, 13)


@pytest.mark.parametrize("now", [SPRING, AUTUMN])
def test_breakfast_stays_at_breakfast_time_when_the_clocks_change(now: datetime) -> None:
    stay = stay_of(now, "Europe/Lisbon")
    walls = {stay.instant(number, 6 * 60 + 45).astimezone(stay.zone).time() for number in stay.numbers()}
    assert [(wall.hour, wall.minute) for wall in walls] == [(6, 45)]


@pytest.mark.parametrize(("now", "number", "hours"), [(SPRING, 5, 23), (AUTUMN, 4, 25)])
def test_from_breakfast_to_breakfast_is_23_or_25_hours_over_the_change(now: datetime, number: int, hours: int) -> None:
    stay = stay_of(now, "Europe/Lisbon")
    gap = stay.instant(number + 1, 405) - stay.instant(number, 405)
    assert gap == timedelta(hours=hours)


def test_offset_is_that_of_the_instant() -> None:
    stay = stay_of(SPRING, "Europe/Lisbon")
    assert stay.offset_min(stay.instant(0, 720)) == 0
    assert stay.offset_min(stay.instant(10, 720)) == 60


def test_a_naive_now_is_refused() -> None:
    with pytest.raises(InvalidInput):
        stay_of(datetime(2026, 5, 12, 10, 20), "Europe/Lisbon")  # noqa: DTZ001 - the fault under test


def test_an_unknown_zone_is_refused() -> None:
    with pytest.raises(InvalidInput):
        stay_of(SPRING, "Europe/Atlantis")
