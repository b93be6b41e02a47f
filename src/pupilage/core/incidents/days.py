"""Incidents and free hours of each watched day: what rates, phases and changes are reckoned from."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from pupilage.core.clock import local_day
from pupilage.core.incidents.changes import Change, weigh_change
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.stretches import Stretch, holds


@dataclass(frozen=True)
class DayCount:
    """A local day that was watched: n incidents in so many free hours (above 0)."""

    day: date
    n: int
    hours: float


def count_days(ats: Iterable[datetime], free: Sequence[Stretch], zone: tzinfo) -> list[DayCount]:
    """Return the watched days in order, each with its incidents and its free hours.

    A day without free time is left out, and so is an incident outside all free time: it has no hours to be counted in.
    Parameters: ats, of incidents that happened (none that were left); free: stretches that do not pass midnight.
    """
    hours: dict[date, float] = {}
    for stretch in free:
        day = local_day(stretch.start, zone)
        hours[day] = hours.get(day, 0.0) + stretch.length / timedelta(hours=1)
    counts = Counter(local_day(at, zone) for at in ats if holds(free, at))
    return [DayCount(day, counts[day], total) for day, total in sorted(hours.items()) if total > 0.0]


def tally_of(days: Sequence[DayCount]) -> Tally | None:
    """Return the incidents and hours of several days together, None without a day."""
    return Tally(sum(day.n for day in days), sum(day.hours for day in days)) if days else None


def weigh_days(days: Sequence[DayCount], unevenness: float = 1.0) -> Change:
    """Return the weighing of the days for a change; four or more.

    unevenness: by what the days differ more than chance allows; they then tell as much as so many times fewer would.
    Raises: InvalidInput as `changes.weigh_change`.
    """
    return weigh_change([day.n / unevenness for day in days], [day.hours / unevenness for day in days])
