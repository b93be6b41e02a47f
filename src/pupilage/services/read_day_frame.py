"""What the page of the day shows: how days usually run, the appointments to come, whether a calendar reads along."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.services.collect_day import Busy, busy_of
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.services.share_calendar import find_calendar_link
from pupilage.storage.queries.day_plans import list_appointments, preferences_of
from pupilage.storage.queries.programmes import programme_readable_by

AHEAD = timedelta(days=200)
"""Longer than any stay."""


@dataclass(frozen=True)
class DayFramePage:
    """The page. linked_at: when this person's calendar link was made, None without one."""

    head: ProgrammeHead
    preferences: DayPreferences
    appointments: tuple[Busy, ...]
    linked_at: datetime | None


def read_day_frame(actor: Actor, programme_id: UUID, *, now: datetime) -> DayFramePage:
    """Return the page of the day. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    since, _ = day_bounds(local_day(now, actor.zone), actor.zone)
    rows = list_appointments(programme, since=since, until=since + AHEAD)
    return DayFramePage(
        head=head_of(actor, programme, now=now),
        preferences=preferences_of(programme),
        appointments=tuple(busy_of(row) for row in rows),
        linked_at=find_calendar_link(actor, programme_id),
    )
