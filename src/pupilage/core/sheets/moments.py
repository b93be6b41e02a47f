"""Local times of a sheet as instants; the two nights a year in which the clocks change are said aloud."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo

from pupilage.core.words import Sentence, sentence


@dataclass(frozen=True)
class Period:
    """The days that a sheet's rows may fall on: first and last day of a programme, its zone, and now (aware)."""

    first_day: date
    last_day: date
    zone: tzinfo
    now: datetime


@dataclass(frozen=True)
class Moment:
    """An instant in UTC, and what was assumed about it, if anything."""

    at: datetime
    note: Sentence | None = None


def at_wall_clock(wall: datetime, zone: tzinfo) -> Moment:
    """Return the instant at which the clock on the wall showed `wall` (naive).

    A time that came twice, when the clocks went back, is read as the first; one that never came, when they went
    forward, as later by what was left out.
    """
    first, second = wall.replace(tzinfo=zone, fold=0), wall.replace(tzinfo=zone, fold=1)
    at = first.astimezone(UTC)
    if first.utcoffset() == second.utcoffset():
        return Moment(at)
    shown = at.astimezone(zone).replace(tzinfo=None)
    if shown == wall:
        note = sentence("{wall} came twice that night; read as the first time.", wall=f"{wall:%Y-%m-%d %H:%M}")
    else:
        note = sentence(
            "{wall} never came, since the clocks went forward; read as {shown}.",
            wall=f"{wall:%Y-%m-%d %H:%M}",
            shown=f"{shown:%H:%M}",
        )
    return Moment(at, note)
