"""A timetable as an iCalendar document (RFC 5545), for a phone's calendar to subscribe to.

Every block is one instant to another, written in UTC: no rule repeats, so no time zone needs to travel along, and the
hour that comes twice in autumn is never in doubt. The phone shows its own local time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from icalendar import Alarm, Calendar, Event
from icalendar.enums import STATUS, TRANSP

PRODUCT = "-//Pupilage//Timetable//EN"
REFRESH = timedelta(minutes=15)
"""How often a calendar is asked to look again (RFC 7986, section 5.7); each program decides for itself."""


@dataclass(frozen=True)
class Entry:
    """One entry. uid: for good; sequence rises with every change; starts, ends, changed_at: aware.

    busy: it takes the trainer's time; cancelled: it was skipped; alarm: it rings when it is due.
    """

    uid: str
    title: str
    notes: Sequence[str]
    starts_at: datetime
    ends_at: datetime
    sequence: int
    changed_at: datetime
    busy: bool = False
    cancelled: bool = False
    alarm: bool = False


def write_calendar(entries: Sequence[Entry], *, name: str) -> bytes:
    """Return the calendar's document: lines of at most 75 octets, each ended by CRLF.

    Source: RFC 5545 (Desruisseaux, 2009), RFC 7986 (Daboo, 2016); tests/external/test_calendar.py reads it back.
    """
    calendar = Calendar.new(name=name, prodid=PRODUCT, refresh_interval=REFRESH)
    for entry in entries:
        calendar.add_component(_event(entry))
    document: bytes = calendar.to_ical()
    return document


def _event(entry: Entry) -> Event:
    event = Event.new(
        uid=entry.uid,
        summary=entry.title,
        description="\n".join(entry.notes) or None,
        start=entry.starts_at.astimezone(UTC),
        end=entry.ends_at.astimezone(UTC),
        stamp=entry.changed_at.astimezone(UTC),
        last_modified=entry.changed_at.astimezone(UTC),
        sequence=entry.sequence,
        status=STATUS.CANCELLED if entry.cancelled else STATUS.CONFIRMED,
        transparency=TRANSP.OPAQUE if entry.busy else TRANSP.TRANSPARENT,
    )
    if entry.alarm:
        event.add_component(_alarm(entry.title))
    return event


def _alarm(words: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", words)
    alarm.add("trigger", timedelta(0))
    return alarm
