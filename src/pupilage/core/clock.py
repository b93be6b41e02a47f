"""Time at the border of `core`: instants are aware, days are local.

Nothing in `core` reads a clock; whoever calls passes `now`.
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pupilage.core.errors import InvalidInput


def require_aware(at: datetime, where: str = "at") -> datetime:
    """Return the instant in UTC.

    Raises InvalidInput for a naive datetime: without a zone it names no instant.
    """
    if at.tzinfo is None or at.utcoffset() is None:
        raise InvalidInput.of(where, "{at} has no time zone; give one, such as +00:00.", at=at.isoformat())
    return at.astimezone(UTC)


def find_zone(name: str) -> ZoneInfo:
    """Return the IANA time zone of this name. Raises InvalidInput for an unknown one."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InvalidInput.of(
            "timezone", "“{name}” is not a known time zone; use one such as Europe/Lisbon.", name=name
        ) from error


def local_day(at: datetime, zone: tzinfo) -> date:
    """Return the calendar day on which the instant falls in the zone."""
    return require_aware(at).astimezone(zone).date()


def day_bounds(day: date, zone: tzinfo) -> tuple[datetime, datetime]:
    """Return the first instant of the local day and of the next one, in UTC.

    The two are 23 or 25 hours apart when the clocks change.
    """
    start = datetime.combine(day, time.min, tzinfo=zone)
    end = datetime.combine(day + timedelta(days=1), time.min, tzinfo=zone)
    return start.astimezone(UTC), end.astimezone(UTC)


def age_weeks(born_on: date, day: date) -> float:
    """Return the age in weeks on a day (7.0 a week); negative before birth."""
    return (day - born_on).days / 7.0


def offset_min(at: datetime, zone: tzinfo) -> int:
    """Return the zone's offset from UTC at the instant, in minutes; east is positive."""
    offset = require_aware(at).astimezone(zone).utcoffset() or timedelta()
    return round(offset / timedelta(minutes=1))
