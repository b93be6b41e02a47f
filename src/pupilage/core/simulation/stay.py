"""The stay: on which days the pup is with the trainer, and which instant a time on the kitchen clock is."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from pupilage.core.clock import find_zone, local_day, require_aware

PROGRAMME_DAYS = 21
DAYS_DONE = 10
HANDOVER = time(14)
"""The family comes for the pup at two o'clock."""


@dataclass(frozen=True)
class Stay:
    """The days of a programme in a zone, seen at `now` (aware UTC). Day number 0 is the day of arrival.

    n_done: days that are over; the day of this number is the one of `now`.
    """

    now: datetime
    zone: ZoneInfo
    arrival_on: date
    n_done: int = DAYS_DONE

    @property
    def handover_on(self) -> date:
        """The last day of the programme."""
        return self.arrival_on + timedelta(days=PROGRAMME_DAYS)

    def day(self, number: int) -> date:
        """Return the calendar day of this number, 0 for the day of arrival."""
        return self.arrival_on + timedelta(days=number)

    def numbers(self) -> Iterable[int]:
        """Return the numbers of the days so far, today's included."""
        return range(self.n_done + 1)

    def instant(self, number: int, clock_min: float) -> datetime:
        """Return the UTC instant at which the clock on the wall shows `clock_min` minutes after midnight.

        Local times are kept when the clocks change: breakfast stays at breakfast time.
        """
        wall = datetime.combine(self.day(number), time.min) + timedelta(seconds=round(clock_min * 60))
        return require_aware(wall.replace(tzinfo=self.zone))

    def offset_min(self, at: datetime) -> int:
        """Return the zone's offset from UTC at the instant, in minutes."""
        offset = at.astimezone(self.zone).utcoffset() or timedelta()
        return round(offset.total_seconds() / 60)


def ended_stay(handover_on: date, zone: ZoneInfo) -> Stay:
    """Return a whole stay, seen at two o'clock on the day of its hand-over."""
    comes_at = require_aware(datetime.combine(handover_on, HANDOVER, tzinfo=zone))
    return Stay(comes_at, zone, handover_on - timedelta(days=PROGRAMME_DAYS), PROGRAMME_DAYS)


def stay_of(now: datetime, timezone: str) -> Stay:
    """Return the stay whose eleventh day is today. Raises InvalidInput for a naive `now` or an unknown zone."""
    now = require_aware(now, "now")
    zone = find_zone(timezone)
    return Stay(now=now, zone=zone, arrival_on=local_day(now, zone) - timedelta(days=DAYS_DONE))
