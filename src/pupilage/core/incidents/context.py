"""What the log knew when an incident was written down: minutes since waking, meal, outing, play, the last session.

Stored with the incident, not only derived: the person saw these figures and ticked by them, and the care log may be
put right later. The answers (`opportunity`) go by the log as it stands now; this is what was known then.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime, timedelta

from pupilage.core.care.events import CareDetail, CareEvent, CareKind

LOOKS_BACK = timedelta(days=1)
"""What lies further back is told as not known: nobody compares by it."""

ENDS_OR_PLAIN = (CareDetail.END, CareDetail.PLAIN)


@dataclass(frozen=True)
class Context:
    """Whole minutes since the newest of each within a day; None where the log has none."""

    waking_min: int | None = None
    meal_min: int | None = None
    outing_min: int | None = None
    play_min: int | None = None
    session_min: int | None = None


def context_of(events: Sequence[CareEvent], session_ends: Iterable[datetime], at: datetime) -> Context:
    """Return what the log knows of a moment. Parameters: events that stand; session_ends: when sessions ended."""
    found: dict[str, list[datetime]] = {field.name: [] for field in fields(Context)}
    found["session_min"] = list(session_ends)
    for event in events:
        name = _name_of(event)
        if name is not None:
            found[name].append(event.at)
    return Context(**{name: _minutes_since(moments, at) for name, moments in found.items()})


def context_from_stored(stored: Mapping[str, int]) -> Context | None:
    """Return what was stored with an incident, None for one of before it was."""
    known = {field.name for field in fields(Context)}
    given = {name: minutes for name, minutes in stored.items() if name in known}
    return Context(**given) if given else None


def context_as_stored(context: Context) -> dict[str, int]:
    """Return what is known as plain names and minutes."""
    return {name: minutes for name, minutes in asdict(context).items() if minutes is not None}


def _name_of(event: CareEvent) -> str | None:
    if event.kind in (CareKind.NAP, CareKind.CRATE):
        return "waking_min" if event.detail is CareDetail.END else None
    if event.kind is CareKind.PLAY:
        return "play_min" if event.detail in ENDS_OR_PLAIN else None
    return {CareKind.MEAL: "meal_min", CareKind.OUTING: "outing_min"}.get(event.kind)


def _minutes_since(moments: Sequence[datetime], at: datetime) -> int | None:
    newest = max((moment for moment in moments if at - LOOKS_BACK <= moment <= at), default=None)
    return None if newest is None else int((at - newest) / timedelta(minutes=1))
