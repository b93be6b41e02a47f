"""Local times as instants, also in the nights in which the clocks change."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from pupilage.core.sheets.moments import at_wall_clock

BERLIN = ZoneInfo("Europe/Berlin")
"""Forward on 29 March 2026 at 2:00, back on 25 October 2026 at 3:00. Source: IANA time zone database."""


def test_a_plain_time_is_read_in_the_zone() -> None:
    moment = at_wall_clock(datetime(2026, 5, 4, 14, 30), BERLIN)  # noqa: DTZ001
    assert moment.at == datetime(2026, 5, 4, 12, 30, tzinfo=UTC)
    assert moment.note is None


def test_a_time_that_came_twice_is_read_as_the_first_and_said() -> None:
    moment = at_wall_clock(datetime(2026, 10, 25, 2, 30), BERLIN)  # noqa: DTZ001
    assert moment.at == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert "came twice" in str(moment.note)


def test_a_time_that_never_came_is_read_as_an_hour_later_and_said() -> None:
    moment = at_wall_clock(datetime(2026, 3, 29, 2, 30), BERLIN)  # noqa: DTZ001
    assert moment.at == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert "never came" in str(moment.note)
    assert "03:30" in str(moment.note)
