"""A frame as the solver reads it: slots of 5 minutes from the first one that is still free."""

from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from pupilage.core import clock
from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.frame import (
    GRID,
    GRID_MIN,
    NAP_MIN,
    Appointment,
    DayExposure,
    DayFrame,
    grid_down,
    grid_up,
)
from pupilage.core.planning.day.ordering import must_stand_alone
from pupilage.core.planning.day.rules import BIG_MEAL_SHARE, SHORTEST_NAP_MIN
from pupilage.core.planning.day.shapes import Before, Shape, Sizes, along_shape_now, along_shapes, shapes_of
from pupilage.core.planning.planned_session import PlannedSession

PLAY_MIN = 10
CHEW_MIN = 10
RESIDENT_MIN = 60
"""The resident dog's own time is cut into pieces of this length at most, so that each lies in one nap."""

SHORTEST_NAP = SHORTEST_NAP_MIN // GRID_MIN
NAP = (NAP_MIN[0] // GRID_MIN, NAP_MIN[1] // GRID_MIN)
MOST_BLOCKS = 14


@dataclass(frozen=True)
class Busy:
    """An appointment in slots."""

    number: int
    start: int
    end: int
    comes_along: bool
    covered: bool


AFTER_A_NAP = Before()


@dataclass(frozen=True)
class Start:
    """Where the plan begins: waking (the default), a nap that goes on, or awake in the middle of a block.

    nap_since, last_out: slots of the running nap's start and of the last outing's (0 or negative); more_awake: slots
    by which the block that goes on may be longer than the age allows, where it must; last_behaviour: of the last
    session of the block that goes on; busy_until: the slot until which the trainer is with the resident dog.
    """

    nap_since: int | None = None
    last_out: int = 0
    before: Before = AFTER_A_NAP
    more_awake: int = 0
    last_behaviour: str = ""
    busy_until: int = 0


@dataclass(frozen=True)
class Wanted:
    """What is still to be placed. meals: their places in the frame; resident: pieces of time, in slots."""

    meals: tuple[int, ...]
    sessions: tuple[PlannedSession, ...]
    exposures: tuple[DayExposure, ...]
    plays: int
    chews: int
    resident: tuple[int, ...]

    @property
    def n(self) -> dict[BlockKind, int]:
        """How many of each kind."""
        return {
            BlockKind.MEAL: len(self.meals),
            BlockKind.SESSION: len(self.sessions),
            BlockKind.EXPOSURE: len(self.exposures),
            BlockKind.PLAY: self.plays,
            BlockKind.CHEW: self.chews,
        }


@dataclass(frozen=True)
class Targets:
    """Where things stood in the plan before, in slots; None for what was not in it."""

    meals: tuple[int | None, ...] = ()
    sessions: tuple[int | None, ...] = ()


NO_TARGETS = Targets()


@dataclass(frozen=True)
class Task:
    """What is to be placed, in slots. origin: the instant of slot 0; last_out: the slot of the day's last outing.

    outside: appointments while the pup sleeps for the night; meal_targets, session_targets: the usual times of the
    meals left, and the even places of the sessions left; previous: where they stood in the plan before.
    """

    frame: DayFrame
    origin: datetime
    last_out: int
    start: Start
    sizes: Sizes
    shapes: tuple[Shape, ...]
    first_shapes: tuple[Shape, ...]
    along: tuple[tuple[int, Shape], ...]
    busy: tuple[Busy, ...]
    outside: tuple[Busy, ...]
    wanted: Wanted
    meal_targets: tuple[int, ...]
    session_targets: tuple[int, ...]
    previous: Targets

    @cached_property
    def n(self) -> dict[BlockKind, int]:
        """How many of each kind are to be placed."""
        return self.wanted.n

    @property
    def end(self) -> int:
        """The slot at which the last outing ends."""
        return self.last_out + self.sizes.outing

    def instant(self, slot: int) -> datetime:
        """Return the instant of a slot, in UTC."""
        return self.origin + slot * GRID

    def longest_nap(self, shape: Shape) -> int:
        """Return the longest nap after a block of this shape: the next outing is in time."""
        return self.sizes.until_out_resting - self.sizes.outing - shape.chew


def slots(minutes: int) -> int:
    """Return minutes in whole slots, rounded up."""
    return -(-minutes // GRID_MIN)


def sizes_of(frame: DayFrame) -> Sizes:
    """Return how long things last on this day, in slots."""
    day_food_g = sum(meal.bowl_g + meal.pouch_g for meal in frame.meals)
    big = any(meal.bowl_g >= BIG_MEAL_SHARE * day_food_g for meal in frame.meals)
    return Sizes(
        outing=slots(frame.outing_min),
        meal=slots(frame.meal_min),
        session=max((slots(session.minutes) for session in frame.sessions), default=1),
        exposure=max((slots(exposure.minutes) for exposure in frame.exposures), default=1),
        play=PLAY_MIN // GRID_MIN,
        chew=CHEW_MIN // GRID_MIN,
        awake_most=frame.awake_min[1] // GRID_MIN,
        until_out=frame.limits.awake_min // GRID_MIN,
        until_out_resting=frame.limits.resting_min // GRID_MIN,
        meal_is_big=big,
    )


def _busy_and_outside(frame: DayFrame, origin: datetime, end: int) -> tuple[tuple[Busy, ...], tuple[Busy, ...]]:
    """Return the day's appointments that are still to come: between waking and the last outing, and outside.

    Those of other days are nobody's business here.
    """
    begins, ends = clock.day_bounds(frame.day, frame.zone)[0], frame.next_wake_at
    busy = [one for one in busy_of(frame.appointments, origin) if _is_of(frame.appointments[one.number], begins, ends)]
    inside = tuple(one for one in busy if one.end > 0 and one.start < end)
    is_whole_day = origin == frame.wake_at
    outside = tuple(one for one in busy if one.start >= end or (is_whole_day and one.end <= 0))
    return inside, outside


def _is_of(one: Appointment, begins: datetime, ends: datetime) -> bool:
    return one.end > begins and one.start < ends


def resident_pieces(minutes: int) -> tuple[int, ...]:
    """Return the resident dog's time in pieces that fit into naps, in slots."""
    n = -(-minutes // RESIDENT_MIN)
    total = slots(minutes)
    return tuple(total // n + (place < total % n) for place in range(n)) if n else ()


def usual_meal_times(frame: DayFrame) -> tuple[datetime, ...]:
    """Return when each meal is usually given: as the frame says, else evenly from 30 min after waking.

    The last of the evenly spread ones is 3 hours before the last outing (common practice, no source).
    """
    first, n = frame.wake_at + 6 * GRID, len(frame.meals)
    last = max(first, frame.last_outing_at - 36 * GRID)
    even = [first + round((last - first) / GRID * place / max(1, n - 1)) * GRID for place in range(n)]
    return tuple(
        sorted(
            at if meal.usual is None else grid_down(frame.instant(meal.usual))
            for meal, at in zip(frame.meals, even, strict=True)
        )
    )


def busy_of(appointments: tuple[Appointment, ...], origin: datetime) -> tuple[Busy, ...]:
    """Return the appointments in slots, rounded outwards, in time order; two that only touch share no slot."""
    found: list[Busy] = []
    before: Appointment | None = None
    for number, one in sorted(enumerate(appointments), key=lambda item: (item[1].start, item[1].end)):
        start, end = (grid_down(one.start) - origin) // GRID, (grid_up(one.end) - origin) // GRID
        if before is not None and before.end <= one.start and found[-1].end > start:
            found[-1] = replace(found[-1], end=max(start, found[-1].start))
        found.append(Busy(number, start, end, one.comes_along, one.covered and not one.comes_along))
        before = one
    return tuple(found)


def session_places(frame: DayFrame) -> tuple[datetime, ...]:
    """Return where each session of the day would stand if they were spread evenly from waking to the last outing."""
    n, whole = len(frame.sessions), (frame.last_outing_at - frame.wake_at) / GRID
    return tuple(frame.wake_at + round(whole * (2 * place + 1) / (2 * n)) * GRID for place in range(n))


def fewest_outings(frame: DayFrame) -> int:
    """Return how few outings by day the limits alone allow: a lower bound of every plan's number."""
    whole = (frame.last_outing_at - frame.wake_at) // GRID
    return (whole - 1) // (max(frame.limits.resting_min, frame.limits.awake_min) // GRID_MIN) + 1


def wanted_of(frame: DayFrame) -> Wanted:
    """Return all that a day is to hold."""
    return Wanted(
        meals=tuple(range(len(frame.meals))),
        sessions=frame.sessions,
        exposures=frame.exposures,
        plays=frame.play_min // PLAY_MIN,
        chews=frame.chew_min // CHEW_MIN,
        resident=resident_pieces(frame.resident_min or 0),
    )


def task_of(frame: DayFrame) -> Task:
    """Return the whole day's task."""
    return build_task(frame, frame.wake_at, Start(), wanted_of(frame))


def build_task(
    frame: DayFrame, origin: datetime, start: Start, wanted: Wanted, *, previous: Targets = NO_TARGETS
) -> Task:
    """Return the task of what is left from `origin`, an instant of the grid, on."""
    sizes, usual, places = sizes_of(frame), usual_meal_times(frame), session_places(frame)
    last_out = (frame.last_outing_at - origin) // GRID
    busy, outside = _busy_and_outside(frame, origin, last_out + sizes.outing)
    most = wanted.n
    if must_stand_alone(wanted.sessions):
        most[BlockKind.SESSION] = 1
    return Task(
        frame=frame,
        origin=origin,
        last_out=last_out,
        start=start,
        sizes=sizes,
        shapes=shapes_of(sizes, Before(), most),
        first_shapes=shapes_of(replace(sizes, awake_most=sizes.awake_most + start.more_awake), start.before, most),
        along=(*_along(sizes, busy), *_along_now(sizes, busy, start)),
        busy=busy,
        outside=outside,
        wanted=wanted,
        previous=previous,
        meal_targets=tuple((usual[number] - origin) // GRID for number in wanted.meals),
        session_targets=tuple((at - origin) // GRID for at in places[len(places) - len(wanted.sessions) :]),
    )


def clusters(busy: tuple[Busy, ...], sizes: Sizes) -> list[list[Busy]]:
    """Return the appointments to which the pup comes along, those together that leave no time for a nap between."""
    groups: list[list[Busy]] = []
    for one in (one for one in busy if one.comes_along):
        if groups and one.start - groups[-1][-1].end < SHORTEST_NAP + 2 * sizes.outing:
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _along(sizes: Sizes, busy: tuple[Busy, ...]) -> list[tuple[int, Shape]]:
    """Return each shape with appointments, and the slot at which a block of it begins."""
    found = []
    for group in clusters(busy, sizes):
        for shape in along_shapes(sizes, [(one.number, one.start, one.end) for one in group]):
            place = next(piece.at for piece in shape.front if piece.appointment is not None)
            start = group[0].start - place
            others = (one for one in busy if one not in group)
            if not any(one.start < start + shape.length and start < one.end for one in others):
                found.append((start, shape))
    return found


def _along_now(sizes: Sizes, busy: tuple[Busy, ...], start: Start) -> list[tuple[int, Shape]]:
    """Return the block that goes on as one in which the pup comes along, where it was out a short time ago."""
    groups = clusters(busy, sizes)
    if start.nap_since is not None or start.before.must_go or not groups or busy[0] is not groups[0][0]:
        return []
    appointments = [(one.number, one.start, one.end) for one in groups[0]]
    shape = along_shape_now(sizes, start.before, appointments)
    return [] if shape is None else [(0, shape)]
