"""A day's timetable as it stands."""

from datetime import date, datetime, time, tzinfo
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.storage.queries.day_plans import StoredBlock, StoredPlan, find_stored_plan
from pupilage.storage.queries.programmes import programme_readable_by

__all__ = ["StoredBlock", "StoredPlan", "find_day_plan", "timetable_day"]

NEW_DAY = time(4)
"""A night's outing at two belongs to the evening before; a pup that wakes at five has begun its day."""


def find_day_plan(actor: Actor, programme_id: UUID, day: date) -> StoredPlan | None:
    """Return a day's timetable, or None before the first was made. Who may: whoever may read. Raises NotFound."""
    return find_stored_plan(programme_readable_by(actor, programme_id), day)


def timetable_day(now: datetime, zone: tzinfo) -> date:
    """Return the day whose timetable is followed at `now`: it turns at four in the morning, local time."""
    local = require_aware(now, "now").astimezone(zone)
    day = local.date()
    return day if local.time() >= NEW_DAY else date.fromordinal(day.toordinal() - 1)
