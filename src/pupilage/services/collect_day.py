"""What a day's timetable is made from: the frame that the trainer set, what is to be done, and what has happened."""

import math
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import awake_interval, max_confinement_hours
from pupilage.core.care.events import CareEvent
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.catalogue.behaviour import Step
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.following import Happening, follow_log, happenings_of, mark
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.proposal import propose_sessions
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import list_session_rows, standings_of
from pupilage.storage.models import Appointment, Dog, Programme
from pupilage.storage.queries.day_plans import (
    StoredPlan,
    find_stored_plan,
    list_appointments,
    preferences_of,
)
from pupilage.storage.queries.dogs import list_care_events

SESSION_MIN = 5
"""Minutes of a short session with a young pup. Common practice, no source."""

FOUR_MEALS_BELOW_WEEKS = 12
"""Four meals a day until then, three after it: common practice, no source."""

NEWEST_SESSIONS = 40
NIGHT_REACHES = timedelta(hours=12)
"""How far after midnight a day's timetable may still reach."""


@dataclass(frozen=True)
class Busy:
    """An appointment as the timetable reads it."""

    id: UUID
    start: datetime
    end: datetime
    words: str
    comes_along: bool
    covered: bool
    whole_day: bool


@dataclass(frozen=True)
class PlannedMeal:
    """A meal. at: its usual time, None where the timetable chooses; bowl_g: None where no daily ration is entered."""

    at: time | None
    bowl_g: float | None


@dataclass(frozen=True)
class Collected:
    """A day's frame. before: the timetable as it stands, its blocks marked as the log says, None before the first.

    entries: by block, the entry of the care log that is about it. care: since a day before. has_resident: a dog lives
    there that needs time of its own; late: keys of blocks that were due and are still to come.
    """

    day: date
    age_weeks: float
    preferences: DayPreferences
    busy: tuple[Busy, ...]
    sessions: tuple[PlannedSession, ...]
    meals: tuple[PlannedMeal, ...]
    limits: OutingLimits
    has_resident: bool
    care: tuple[CareEvent, ...]
    before: StoredPlan | None
    blocks: tuple[Block, ...]
    entries: dict[str, UUID | None] = field(default_factory=dict)
    late: tuple[str, ...] = ()


def collect_day(
    actor: Actor, programme: Programme, day: date, *, now: datetime, late: tuple[str, ...] = ()
) -> Collected:
    """Return what a day's timetable is made from. Reads only. Assumes: the caller has asked whether the actor may."""
    start, end = day_bounds(day, actor.zone)
    dog, preferences = programme.dog, preferences_of(programme)
    before = find_stored_plan(programme, day)
    care = list_care_events(dog, since=start - timedelta(days=1), until=end + NIGHT_REACHES)
    rows = list_session_rows(actor, programme, limit=NEWEST_SESSIONS)
    held = [Happening(BlockKind.SESSION, r.started_at, "", r.behaviour) for r in rows if start <= r.started_at < end]
    blocks, entries = _followed(before, care, held)
    busy = tuple(busy_of(row) for row in list_appointments(programme, since=start, until=end + NIGHT_REACHES))
    is_off = any(one.whole_day and one.start < end for one in busy)
    return Collected(
        day=day,
        age_weeks=age_weeks(dog.born_on, day),
        preferences=preferences,
        busy=busy,
        sessions=() if is_off else tuple(sessions_for(actor, programme, day, now=now)),
        meals=tuple(meals_for(programme, day, preferences)),
        limits=limits_for(dog, day),
        has_resident=Dog.objects.filter(household_id=dog.household_id, is_resident=True).exists(),
        care=tuple(care),
        before=before,
        blocks=blocks,
        entries=entries,
        late=late,
    )


def busy_of(row: Appointment) -> Busy:
    """Return an appointment as plain values."""
    return Busy(row.id, row.starts_at, row.ends_at, row.words, row.comes_along, row.covered, row.whole_day)


def sessions_for(actor: Actor, programme: Programme, day: date, *, now: datetime) -> list[PlannedSession]:
    """Return the sessions that a day still asks for; none on the day of the hand-over or outside the stay."""
    if not programme.arrival_on <= day < programme.handover_on:
        return []
    standings = standings_of(actor, programme, know_dog(actor, programme), now=now, compare=False)
    today = local_day(now, actor.zone)
    states = [s.state if day == today else replace(s.state, n_sessions_today=0) for s in standings]
    n_held = sum(state.n_sessions_today for state in states)
    at = now if day <= today else day_bounds(day, actor.zone)[0]
    proposals = propose_sessions(states, now=at, limit=max(0, programme.sessions_a_day - n_held))
    steps = {s.behaviour.key: s.step for s in standings}
    return [_planned(one.behaviour_key, steps[one.behaviour_key]) for one in proposals]


def meals_for(programme: Programme, day: date, preferences: DayPreferences) -> list[PlannedMeal]:
    """Return a day's meals: at the trainer's usual times, or as many as the pup's age asks for, of equal size."""
    n_meals = len(preferences.meals) or meals_a_day(age_weeks(programme.dog.born_on, day))
    daily_food_g = programme.dog.daily_food_g
    bowl_g = None if daily_food_g is None else round(daily_food_g / n_meals, 1)
    return [PlannedMeal(at, bowl_g) for at in preferences.meals or (None,) * n_meals]


def meals_a_day(weeks: float) -> int:
    """Return how many meals a pup of this age gets a day (FOUR_MEALS_BELOW_WEEKS)."""
    return 4 if weeks < FOUR_MEALS_BELOW_WEEKS else 3


def limits_for(dog: Dog, day: date) -> OutingLimits:
    """Return how long the pup goes between outings, by the rules of thumb for its age (`core.care.confinement`)."""
    age = age_weeks(dog.born_on, day)
    resting_min = math.floor(60 * max_confinement_hours(age))
    return OutingLimits(
        awake_min=awake_interval(age) // timedelta(minutes=1), resting_min=resting_min, night_min=resting_min
    )


def _planned(behaviour: str, step: Step) -> PlannedSession:
    criterion = step.criterion
    return PlannedSession(
        behaviour=behaviour,
        step=step.key,
        purpose=Purpose.TEACH,
        minutes=SESSION_MIN,
        place=criterion.place,
        distraction=criterion.distraction,
    )


def _followed(
    before: StoredPlan | None, care: list[CareEvent], held: list[Happening]
) -> tuple[tuple[Block, ...], dict[str, UUID | None]]:
    """Return the timetable's blocks as the log marks them, and which entry each new mark is about.

    A block whose entry was taken back is planned again.
    """
    if before is None:
        return (), {}
    stands = {event.id for event in care}
    gone = {one.block.key for one in before.blocks if one.care_event and one.care_event not in stands}
    blocks = [
        replace(one.block, state=BlockState.PLANNED) if one.block.key in gone else one.block for one in before.blocks
    ]
    taken = {one.care_event for one in before.blocks if one.care_event} - {""}
    found = follow_log(blocks, [*happenings_of(care), *held], taken=taken)
    entries: dict[str, UUID | None] = dict.fromkeys(gone)
    entries |= {key: UUID(one.id) for key, one in found.items() if one.id}
    return mark(blocks, found), entries
