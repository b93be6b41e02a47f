"""One thumb taps one thing a second: what goes on around the pup gives way to what happens to it."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from pupilage.core.care.events import CareEvent, CareKind

SECOND = timedelta(seconds=1)


def in_turn(happened: Sequence[CareEvent], around: Sequence[CareEvent]) -> list[CareEvent]:
    """Return all events in time order, no two within the same second of the clock.

    What happened to the pup stays where it is. A tap of what goes on around it waits until the first whole second
    that is free, and after the tap before it of its own kind, so that no stretch ends before it begins.
    Parameters: happened: no two in the same second.
    """
    taken = {_second(event.at) for event in happened}
    last: dict[CareKind, datetime] = {}
    moved = []
    for event in sorted(around, key=lambda event: event.at):
        at = _second(max(event.at, last.get(event.kind, event.at)))
        while at in taken:
            at += SECOND
        taken.add(at)
        last[event.kind] = at
        moved.append(replace(event, at=at))
    return sorted([*happened, *moved], key=lambda event: event.at)


def _second(at: datetime) -> datetime:
    return at.replace(microsecond=0)
