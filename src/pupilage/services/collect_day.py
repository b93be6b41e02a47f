"""What a day's timetable is made from: the frame that the trainer set, what is to be done, and what has happened."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta, tzinfo
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.events import CareEvent
from pupilage.core.care.exposures.proposal import meeting_words
from pupilage.core.care.food.meals import meals_at
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.care.toilet.outlook import outing_limits
from pupilage.core.care.toilet.record import read_log
from pupilage.core.catalogue.behaviour import Step
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.following import Happening, follow_log, happenings_of, mark
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.plan import sessions_of_day, still_to_hold
from pupilage.core.planning.programme.room import session_minutes
from pupilage.core.planning.proposal import propose_sessions
from pupilage.services.know_dog import know_dog
from pupilage.services.read_exposures import list_for_today
from pupilage.services.read_plan import kept_plan_of
from pupilage.services.read_programme import list_session_rows, standings_of
from pupilage.services.split_food import split_food
from pupilage.storage.models import Appointment, Dog, Programme
from pupilage.storage.queries.day_plans import (
    StoredPlan,
    find_stored_plan,
    list_appointments,
    preferences_of,
)
from pupilage.storage.queries.dogs import list_care_events

MEETINGS_A_DAY = 2
"""Exposures that get a time of their own; others are met in passing (common practice, no source)."""

NEWEST_SESSIONS = 40
LEARNED_FROM = timedelta(days=30)
"""How far back the care log is read for how long the pup goes between outings."""

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
    """A meal. at: its usual time, None where the timetable chooses; grams: None where no daily ration is entered."""

    at: time | None
    bowl_g: float | None
    pouch_g: float | None = None


@dataclass(frozen=True)
class ToMeet:
    """Something that the pup is to meet: its words and minutes."""

    words: str
    minutes: int


@dataclass(frozen=True)
class Collected:
    """A day's frame. before: the timetable as it stands, its blocks marked as the log says, None before the first.

    entries: by block, the entry of the care log that is about it. care: since a day before. to_meet: exposures.
    has_resident: a dog lives there that needs time of its own; late: keys of blocks that were due and are to come.
    """

    day: date
    age_weeks: float
    preferences: DayPreferences
    busy: tuple[Busy, ...]
    sessions: tuple[PlannedSession, ...]
    meals: tuple[PlannedMeal, ...]
    to_meet: tuple[ToMeet, ...]
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
    log = list_care_events(dog, since=start - LEARNED_FROM, until=end + NIGHT_REACHES)
    care = [event for event in log if event.at >= start - timedelta(days=1)]
    rows = list_session_rows(actor, programme, limit=NEWEST_SESSIONS)
    held = [Happening(BlockKind.SESSION, r.started_at, "", r.behaviour) for r in rows if start <= r.started_at < end]
    blocks, entries = _followed(before, care, held)
    busy = tuple(busy_of(row) for row in list_appointments(programme, since=start, until=end + NIGHT_REACHES))
    is_off = any(one.whole_day and one.start < end for one in busy)
    sessions = () if is_off else tuple(sessions_for(actor, programme, day, now=now))
    meals, sessions = feed(actor, programme, day, preferences, sessions, now=now)
    return Collected(
        day=day,
        age_weeks=age_weeks(dog.born_on, day),
        preferences=preferences,
        busy=busy,
        sessions=sessions,
        meals=meals,
        to_meet=to_meet(actor, programme, day, now=now),
        limits=limits_for(programme, log, actor.zone, now=now),
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
    """Return the sessions that a day still asks for: by the plan of the stay, without one by what adds most.

    None on the day of the hand-over or outside the stay.
    """
    if not programme.arrival_on <= day < programme.handover_on:
        return []
    standings = standings_of(actor, programme, know_dog(actor, programme), now=now, compare=False)
    today = local_day(now, actor.zone)
    plan = kept_plan_of(programme).plan
    if plan is not None and any(one.day == day for one in plan.days):
        held = {s.behaviour.key: s.n_sessions_today for s in standings if day == today}
        steps = {s.behaviour.key: s.step for s in standings}
        return [_at_its_step(one, steps) for one in still_to_hold(sessions_of_day(plan, day), held)]
    states = [s.state if day == today else replace(s.state, n_sessions_today=0) for s in standings]
    n_held = sum(state.n_sessions_today for state in states)
    at = now if day <= today else day_bounds(day, actor.zone)[0]
    proposals = propose_sessions(states, now=at, limit=max(0, programme.sessions_a_day - n_held))
    steps = {s.behaviour.key: s.step for s in standings}
    minutes = session_minutes(age_weeks(programme.dog.born_on, day))
    return [_planned(one.behaviour_key, steps[one.behaviour_key], minutes) for one in proposals]


def feed(
    actor: Actor,
    programme: Programme,
    day: date,
    preferences: DayPreferences,
    sessions: tuple[PlannedSession, ...],
    *,
    now: datetime,
) -> tuple[tuple[PlannedMeal, ...], tuple[PlannedSession, ...]]:
    """Return a day's meals, split into bowl and pouch, and its sessions with what each is paid with.

    At the trainer's usual times, or as many meals as the pup's age asks for. Without a weight or a label the day's
    food goes into the bowls in equal parts, without a ration there are no grams; the sessions then stay as they are.
    """
    n_meals = len(preferences.meals) or None
    has_ration = programme.dog.daily_food_g is not None
    split = split_food(actor, programme.dog_id, sessions, now=now, n_meals=n_meals) if has_ration else None
    times: tuple[time | None, ...] = preferences.meals
    if split is None:
        n = n_meals or meals_at(age_weeks(programme.dog.born_on, day))
        daily_food_g = programme.dog.daily_food_g
        bowl_g = None if daily_food_g is None else round(daily_food_g / n, 1)
        return tuple(PlannedMeal(at, bowl_g) for at in times or (None,) * n), sessions
    meals = [
        PlannedMeal(at, meal.bowl_g, meal.pouch_g)
        for at, meal in zip(times or (None,) * len(split.meals), split.meals, strict=True)
    ]
    paid = [
        replace(session, reinforcer=food.reinforcer, pieces=food.pieces)
        for session, food in zip(sessions, split.sessions, strict=True)
    ]
    return tuple(meals), tuple(paid)


def to_meet(actor: Actor, programme: Programme, day: date, *, now: datetime) -> tuple[ToMeet, ...]:
    """Return what the pup is to meet today; none on another day: what comes then depends on how today's went."""
    if day != local_day(now, actor.zone):
        return ()
    proposals = list_for_today(actor, programme, now=now)[:MEETINGS_A_DAY]
    return tuple(ToMeet(str(meeting_words(one)), one.minutes) for one in proposals)


def limits_for(programme: Programme, log: list[CareEvent], zone: tzinfo, *, now: datetime) -> OutingLimits:
    """Return how long the pup goes between outings at the risk that the trainer takes, as its log has it."""
    record = read_log(log, born_on=programme.dog.born_on, zone=zone, now=now)
    return outing_limits(record, programme.outing_risk)


def _at_its_step(planned: PlannedSession, steps: Mapping[str, Step]) -> PlannedSession:
    """Return a planned session at the step that practice has come to since the plan was made."""
    step = steps.get(planned.behaviour)
    if step is None or planned.purpose is not Purpose.TEACH:
        return planned
    return replace(planned, step=step.key, place=step.criterion.place, distraction=step.criterion.distraction)


def _planned(behaviour: str, step: Step, minutes: int) -> PlannedSession:
    criterion = step.criterion
    return PlannedSession(
        behaviour=behaviour,
        step=step.key,
        purpose=Purpose.TEACH,
        minutes=minutes,
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
