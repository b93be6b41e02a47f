"""The care log as the model reads it: minutes on one clock, what the pup was doing, and what had just happened."""

from bisect import bisect_right
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from pupilage.core import clock
from pupilage.core.care.confinement import Trigger, trigger_of
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.care.toilet.curve import WINDOWS, Curve, Doing, Need, Span

NIGHT_FROM, NIGHT_TO = time(22, 30), time(6, 0)
"""Own choice: what is taken for the night, by the clock on the wall."""

SILENT_DAY_MIN, SILENT_NIGHT_MIN = 120.0, 60.0
"""So long without an entry while the pup is not resting: hours that nobody wrote down (an awake block lasts 45 to 90
minutes at these ages, from memory). A nap that is not in the log would make the pup look drier than it is."""

DAY_MIN = 1440.0


AGE_STEP_MIN = 360.0
"""The pup's age is kept for six hours."""


def minutes_of(at: datetime) -> float:
    """Return an aware instant as minutes since 1970 in UTC."""
    return at.timestamp() / 60.0


@lru_cache(maxsize=512)
def _curve_at(age_steps: int) -> Curve:
    return Curve(max(0.0, age_steps * AGE_STEP_MIN / (7.0 * DAY_MIN)))


def instant_of(minutes: float) -> datetime:
    """Return minutes since 1970 as an instant."""
    return datetime.fromtimestamp(60.0 * minutes, UTC)


def emptied(event: CareEvent) -> frozenset[Need]:
    """Return what came at an outing or an accident."""
    if event.detail is CareDetail.BOTH:
        return frozenset(Need)
    found = {CareDetail.WEE: Need.WEE, CareDetail.POO: Need.POO}.get(event.detail)
    return frozenset() if found is None else frozenset({found})


@dataclass
class Diary:
    """Where a reading of the log stands: `at_min`, what rests are open, until when each window lasts.

    night_edges: the minutes at which nights begin and end in turn, the first a beginning. A pup rests only where the
    log says so.
    """

    born_min: float
    night_edges: tuple[float, ...]
    at_min: float
    resting_since: dict[CareKind, float] = field(default_factory=dict)
    windows: dict[Trigger, float] = field(default_factory=dict)

    @classmethod
    def open(cls, born_on: date, zone: tzinfo, *, first: datetime, last: datetime) -> "Diary":
        """Return a diary that begins at an instant and knows the nights until another.

        Raises InvalidInput for an instant without a zone.
        """
        born = datetime.combine(born_on, time.min, tzinfo=zone)
        edges = _night_edges(zone, clock.local_day(first, zone), clock.local_day(last, zone))
        return cls(minutes_of(born), edges, minutes_of(first))

    def copy(self) -> "Diary":
        """Return a diary of its own, to look ahead with."""
        return replace(self, resting_since=dict(self.resting_since), windows=dict(self.windows))

    def curve(self) -> Curve:
        """Return the pooled curve at the pup's age."""
        return _curve_at(int((self.at_min - self.born_min) // AGE_STEP_MIN))

    def doing(self) -> Doing:
        """Return what the pup is taken to be doing from now on."""
        if not self.resting_since:
            return Doing.AWAKE
        return Doing.NIGHT if self.is_night() else Doing.RESTING

    def is_night(self) -> bool:
        """Return whether it is night by the clock on the wall."""
        return bisect_right(self.night_edges, self.at_min) % 2 == 1

    def is_silent_until(self, to_min: float) -> bool:
        """Return whether nobody wrote down what happened until then."""
        longest = SILENT_NIGHT_MIN if self.is_night() else SILENT_DAY_MIN
        return self.doing() is Doing.AWAKE and to_min - self.at_min > longest

    def times(self, need: Need) -> float:
        """Return how many times the curve's the hazard is while the pup is awake."""
        product = 1.0
        for trigger in [trigger for trigger, until in self.windows.items() if self.at_min < until]:
            product *= WINDOWS[trigger][1][need]
        return product

    def next_change(self) -> float:
        """Return the next minute at which a window, or the night, begins or ends by itself."""
        place = bisect_right(self.night_edges, self.at_min)
        found = self.night_edges[place] if place < len(self.night_edges) else self.at_min + DAY_MIN
        for until in self.windows.values():
            if self.at_min < until < found:
                found = until
        return found

    def take(self, event: CareEvent) -> None:
        """Change what the pup is doing by an entry of the log; the diary stands at it already."""
        trigger = trigger_of(event)
        if trigger is not None:
            self.windows[trigger] = self.at_min + WINDOWS[trigger][0]
        if event.kind in (CareKind.NAP, CareKind.CRATE):
            if event.detail is CareDetail.START:
                self.resting_since.setdefault(event.kind, self.at_min)
            else:
                self.resting_since.pop(event.kind, None)
        elif event.kind is CareKind.OUTING:
            self.resting_since.clear()

    def advance(self, to_min: float, clocks: dict[Need, float], into: dict[Need, list[float]]) -> None:
        """Go on to a minute, adding the exposure of each need; clocks: the minute of its last elimination."""
        curve = self.curve()
        while self.at_min < to_min:
            stop = min(to_min, self.next_change())
            doing = self.doing()
            for need, since in clocks.items():
                times = self.times(need) if doing is Doing.AWAKE else 1.0
                curve.add_exposure(into[need], need, doing, Span(self.at_min - since, stop - since, times))
            self.at_min = stop


def _night_edges(zone: tzinfo, first: date, last: date) -> tuple[float, ...]:
    """Return the nights, from the one before a day until the one after another: hours change with the clocks."""
    found = []
    for n in range(-1, (last - first).days + 2):
        evening = first + timedelta(days=n)
        start = datetime.combine(evening, NIGHT_FROM, tzinfo=zone)
        stop = datetime.combine(evening + timedelta(days=1), NIGHT_TO, tzinfo=zone)
        found += [minutes_of(start), minutes_of(stop)]
    return tuple(found)
