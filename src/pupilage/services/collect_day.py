"""What a day's timetable is made from: the frame that the trainer set, what is to be done, and what has happened."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.utils.translation import gettext

from pupilage.core.access import Actor
from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.care.events import CareEvent
from pupilage.core.care.exposures.proposal import meeting_words
from pupilage.core.care.food.meals import meals_at
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.care.toilet.outlook import outing_limits
from pupilage.core.care.toilet.record import has_curve, read_log
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.following import Happening, follow_log, happenings_of, mark
from pupilage.core.planning.day.frame import DayExposure
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.plan import sessions_of_day, still_to_hold
from pupilage.core.planning.programme.room import session_minutes
from pupilage.core.planning.proposal import propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.services.know_dog import know_dog
from pupilage.services.read_care_panel import LEARNED_FROM
from pupilage.services.read_exposures import read_exposures
from pupilage.services.read_plan import kept_plan_of
from pupilage.services.read_programme import list_session_rows, standings_of
from pupilage.services.split_food import split_food
from pupilage.storage.models import Appointment, Dog, Programme, TrainingSession
from pupilage.storage.queries.day_plans import (
    StoredPlan,
    find_stored_plan,
    list_appointments,
    preferences_of,
)
from pupilage.storage.queries.dogs import list_care_events

MEETINGS_A_DAY = 3
"""Exposures that a timetable makes room for; what is met by chance comes on top. Our own choice."""

AWAKE_MIN_WITHOUT_CURVE = 120
"""Handbook advice for a dog that is too old for the toilet model: out at least every two hours while awake."""

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
    """A meal. at: its usual time, None where the timetable chooses; bowl_g: None where no daily ration is entered.

    pouch_g: of the day's food, what is kept for the rewards until the next meal.
    """

    at: time | None
    bowl_g: float | None
    pouch_g: float = 0.0


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
    exposures: tuple[DayExposure, ...]
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
    rows = [row for row in rows if start <= row.started_at < end]
    blocks, entries = _followed(
        before, care, [Happening(BlockKind.SESSION, r.started_at, "", r.behaviour) for r in rows]
    )
    busy = tuple(busy_of(row) for row in list_appointments(programme, since=start, until=end + NIGHT_REACHES))
    is_off = day.isoformat() in programme.days_off or any(one.whole_day and one.start < end for one in busy)
    sessions = [] if is_off else sessions_for(actor, programme, day, rows, now=now)
    sessions, meals = feed(actor, programme, day, sessions, blocks, preferences, now=now)
    return Collected(
        day=day,
        age_weeks=age_weeks(dog.born_on, day),
        preferences=preferences,
        busy=busy,
        sessions=tuple(sessions),
        meals=tuple(meals),
        exposures=tuple(exposures_for(actor, programme, day, now=now)),
        limits=limits_for(actor, programme, day, log, now=now),
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


def sessions_for(
    actor: Actor, programme: Programme, day: date, rows: Sequence[TrainingSession], *, now: datetime
) -> list[PlannedSession]:
    """Return the sessions that a day still asks for; none on the day of the hand-over or outside the stay.

    By the stay's plan where one is kept that holds the day, what is taught at the step where the pup is now; else by
    what a session is worth. rows: those of the day that were held.
    """
    if not programme.arrival_on <= day < programme.handover_on:
        return []
    standings = standings_of(actor, programme, know_dog(actor, programme), now=now, compare=False)
    by_key = {one.behaviour.key: one for one in standings}
    kept = kept_plan_of(programme)
    planned = [] if kept.plan is None else sessions_of_day(kept.plan, day)
    if planned:
        held = Counter(row.behaviour for row in rows if kept.made_at is None or row.started_at >= kept.made_at)
        left = still_to_hold(tuple(planned), held)
        return [_as_it_stands(one, by_key[one.behaviour]) for one in left if one.behaviour in by_key]
    return _proposed(actor, programme, day, standings, now=now)


def _proposed(
    actor: Actor, programme: Programme, day: date, standings: Sequence[Standing], *, now: datetime
) -> list[PlannedSession]:
    today = local_day(now, actor.zone)
    states = [s.state if day == today else replace(s.state, n_sessions_today=0) for s in standings]
    n_held = sum(state.n_sessions_today for state in states)
    at = now if day <= today else day_bounds(day, actor.zone)[0]
    proposals = propose_sessions(states, now=at, limit=max(0, programme.sessions_a_day - n_held))
    by_key = {one.behaviour.key: one for one in standings}
    minutes = session_minutes(age_weeks(programme.dog.born_on, day))
    return [_taught(by_key[one.behaviour_key], minutes) for one in proposals]


def _as_it_stands(planned: PlannedSession, standing: Standing) -> PlannedSession:
    """Return the session of the plan; what is taught is taught at the step that the record now asks for."""
    if planned.purpose is not Purpose.TEACH or planned.step == standing.step.key:
        return planned
    return replace(_taught(standing, planned.minutes), who=planned.who)


def _taught(standing: Standing, minutes: int) -> PlannedSession:
    criterion = standing.step.criterion
    return PlannedSession(
        behaviour=standing.behaviour.key,
        step=standing.step.key,
        purpose=Purpose.TEACH,
        minutes=minutes,
        place=criterion.place,
        distraction=criterion.distraction,
    )


def feed(
    actor: Actor,
    programme: Programme,
    day: date,
    sessions: list[PlannedSession],
    blocks: Sequence[Block],
    preferences: DayPreferences,
    *,
    now: datetime,
) -> tuple[list[PlannedSession], list[PlannedMeal]]:
    """Return the sessions with what they are paid with, and the day's meals: bowl and pouch, at the usual times.

    The food is split over all of the day's sessions, those held counted, so that the bowls of the day stay alike.
    Where no energy is known, meals are of equal size and sessions unpaid; without a ration there are no grams at all.
    """
    held = [b.session for b in blocks if b.session is not None and b.state is BlockState.DONE]
    usual, has_ration = preferences.meals, programme.dog.daily_food_g is not None
    wanted = [*held, *sessions]
    split = split_food(actor, programme.dog_id, wanted, now=now, n_meals=len(usual) or None) if has_ration else None
    if split is None:
        return sessions, equal_meals(programme, day, preferences)
    foods = split.sessions[len(held) :]
    paid = [replace(s, reinforcer=f.reinforcer, pieces=f.pieces) for s, f in zip(sessions, foods, strict=True)]
    times = usual or (None,) * len(split.meals)
    meals = [PlannedMeal(at, round(m.bowl_g, 1), round(m.pouch_g, 1)) for at, m in zip(times, split.meals, strict=True)]
    return paid, meals


def equal_meals(programme: Programme, day: date, preferences: DayPreferences) -> list[PlannedMeal]:
    """Return a day's meals of equal size: at the trainer's usual times, or as many as the pup's age asks for."""
    n_meals = len(preferences.meals) or meals_at(age_weeks(programme.dog.born_on, day))
    daily_food_g = programme.dog.daily_food_g
    bowl_g = None if daily_food_g is None else round(daily_food_g / n_meals, 1)
    return [PlannedMeal(at, bowl_g) for at in preferences.meals or (None,) * n_meals]


def exposures_for(actor: Actor, programme: Programme, day: date, *, now: datetime) -> list[DayExposure]:
    """Return what the pup is to meet today; nothing is said for another day, since the pup's pace decides."""
    if day != local_day(now, actor.zone):
        return []
    today = read_exposures(actor, programme.id, now=now).today[:MEETINGS_A_DAY]
    return [DayExposure(meeting_words(one).translated(gettext), one.minutes) for one in today]


def limits_for(
    actor: Actor, programme: Programme, day: date, log: Sequence[CareEvent], *, now: datetime
) -> OutingLimits:
    """Return how long the pup goes between outings at the risk that the trainer takes, learned from its log.

    A dog that is too old for the model goes by the rules of thumb (`core.care.confinement`).
    """
    born_on = programme.dog.born_on
    age = age_weeks(born_on, day)
    if has_curve(age):
        record = read_log(list(log), born_on=born_on, zone=actor.zone, now=now)
        return outing_limits(record, programme.outing_risk)
    resting_min = int(60 * max_confinement_hours(age))
    return OutingLimits(awake_min=AWAKE_MIN_WITHOUT_CURVE, resting_min=resting_min, night_min=resting_min)


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
