"""Stretches of time as sets: what they have in common, what is left of one without another, how long they are."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput


@dataclass(frozen=True, order=True)
class Stretch:
    """From start up to, but not including, end; aware instants. Raises InvalidInput where it ends before it starts."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if require_aware(self.end, "end") < require_aware(self.start, "start"):
            raise InvalidInput.of(
                "end",
                "It ends at {end} and starts at {start}; put the two the right way round.",
                start=self.start.isoformat(),
                end=self.end.isoformat(),
            )

    def __contains__(self, at: datetime) -> bool:
        return self.start <= at < self.end

    @property
    def length(self) -> timedelta:
        return self.end - self.start


def union(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Return the same time as stretches that do not touch, in time order: nothing is counted twice."""
    merged: list[Stretch] = []
    for stretch in sorted(s for s in stretches if s.start < s.end):
        if merged and stretch.start <= merged[-1].end:
            merged[-1] = Stretch(merged[-1].start, max(merged[-1].end, stretch.end))
        else:
            merged.append(stretch)
    return merged


def both(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """Return the time that lies in both."""
    a, b = union(one), union(other)
    found: list[Stretch] = []
    i = j = 0
    while i < len(a) and j < len(b):
        start, end = max(a[i].start, b[j].start), min(a[i].end, b[j].end)
        if start < end:
            found.append(Stretch(start, end))
        i, j = (i + 1, j) if a[i].end <= b[j].end else (i, j + 1)
    return found


def without(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """Return the time of the first that does not lie in the second."""
    cuts = union(other)
    found: list[Stretch] = []
    for stretch in union(one):
        at = stretch.start
        for cut in cuts:
            if cut.end <= at or cut.start >= stretch.end:
                continue
            if cut.start > at:
                found.append(Stretch(at, cut.start))
            at = cut.end
        if at < stretch.end:
            found.append(Stretch(at, stretch.end))
    return found


def hours_of(stretches: Iterable[Stretch]) -> float:
    """Return the hours, none counted twice."""
    return sum((stretch.length for stretch in union(stretches)), timedelta()) / timedelta(hours=1)


def holds(stretches: Iterable[Stretch], at: datetime) -> bool:
    """Return whether the instant lies in one of them."""
    return any(at in stretch for stretch in stretches)
