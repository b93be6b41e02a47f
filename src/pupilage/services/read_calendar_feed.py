"""The timetables that a subscribed calendar reads."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.utils import translation
from django.utils.translation import gettext

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.reports.block_words import block_notes, block_title
from pupilage.reports.calendar import Entry, write_calendar
from pupilage.services.make_day_plan import FIRST_S, make_day_plan
from pupilage.services.read_day_plan import timetable_day
from pupilage.services.share_calendar import get_calendar_link
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.access import find_actor
from pupilage.storage.queries.day_plans import StoredBlock, find_stored_plan
from pupilage.storage.queries.programmes import programme_readable_by

DAYS_BACK, DAYS_AHEAD = 2, 1
"""Of the timetables that stand, those that a calendar is given."""


@dataclass(frozen=True)
class Feed:
    """A calendar's document and the name of its file."""

    content: bytes
    filename: str


def read_calendar_feed(token: str, *, now: datetime) -> Feed:
    """Return the calendar of a link. Who may: whoever has the link.

    Today's timetable is made where there is none yet or where it no longer fits, so that the calendar of a phone in a
    pocket is right without the page being open. Raises NotFound for an unknown or revoked link.
    """
    link = get_calendar_link(token)
    actor = find_actor(link.user_id)
    if actor is None or actor.workspace_id != link.workspace_id:
        raise NotFound("There is no such calendar; make a new link on the page of the day.")
    programme = programme_readable_by(actor, link.programme_id)
    today = timetable_day(now, actor.zone)
    _bring_up_to_date(actor, programme, today, now=now)
    days = [today + timedelta(days=n) for n in range(-DAYS_BACK, DAYS_AHEAD + 1)]
    return Feed(calendar_of(actor, programme, days), "timetable.ics")


def read_calendar_file(actor: Actor, programme_id: UUID, day: date) -> bytes:
    """Return one day's timetable as a calendar's document. Who may: whoever may read. Raises NotFound."""
    return calendar_of(actor, programme_readable_by(actor, programme_id), [day])


def calendar_of(actor: Actor, programme: Programme, days: list[date]) -> bytes:
    """Return the timetables of these days, where there are any, in the workspace's language."""
    with translation.override(actor.language):
        entries = [
            _entry(programme.id, day, one)
            for day in days
            if (stored := find_stored_plan(programme, day)) is not None
            for one in stored.shown
        ]
        return write_calendar(entries, name=gettext("{dog}'s day").format(dog=programme.dog.name))


def _bring_up_to_date(actor: Actor, programme: Programme, today: date, *, now: datetime) -> None:
    stored = find_stored_plan(programme, today)
    if stored is not None and not stored.is_stale:
        return
    try:
        actor.require_write()
        make_day_plan(actor, programme.id, today, now=now, seconds=FIRST_S)
    except (Conflict, Forbidden, InvalidInput):
        return


def _entry(programme_id: UUID, day: date, one: StoredBlock) -> Entry:
    block, catalogue = one.block, load_catalogue()
    notes = block_notes(block, catalogue)
    if block.reason is not None:
        notes.append(block.reason.translated(gettext))
    return Entry(
        uid=f"{programme_id}-{day.isoformat()}-{block.key}@pupilage",
        title=block_title(block, catalogue),
        notes=notes,
        starts_at=block.start,
        ends_at=block.end,
        sequence=one.sequence,
        changed_at=one.changed_at,
        busy=block.kind is BlockKind.APPOINTMENT,
        cancelled=block.state is BlockState.SKIPPED,
        alarm=block.kind is BlockKind.OUTING and block.state is BlockState.PLANNED,
    )
