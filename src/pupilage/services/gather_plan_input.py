"""What a plan is made from: goals, frame, days off, vet dates, food, and what has been held today."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from math import ceil

from pupilage.core.access import Actor
from pupilage.core.clock import local_day
from pupilage.core.planning.programme.prospects import PlanInput
from pupilage.core.planning.programme.room import Circumstances, reward_pieces
from pupilage.core.planning.standing import GoalAim
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.know_dog import know_dog
from pupilage.services.read_exposures import read_exposures
from pupilage.services.read_programme import frame_of
from pupilage.services.split_food import count_rewards
from pupilage.storage.models import Programme
from pupilage.storage.queries.day_plans import list_whole_days
from pupilage.storage.queries.dogs import list_reinforcers
from pupilage.storage.queries.programmes import list_goals

EXPOSURES_A_SESSION = 2
"""So many meetings, most of them in passing, take a pup as much as one session (an assumption)."""


@dataclass(frozen=True)
class Gathered:
    """The input of a plan, what is known of the pup, and a key that changes when either does, once a day."""

    given: PlanInput
    known: Knowledge
    key: str


def gather_plan_input(actor: Actor, programme: Programme, *, now: datetime) -> Gathered:
    """Return what the programme's plan is made from. Assumes: the caller has asked whether the actor may read it."""
    known = know_dog(actor, programme)
    goals = list_goals(programme)
    given = PlanInput(
        aims=tuple(GoalAim(goal.behaviour, goal.step, goal.weight) for goal in goals),
        frame=frame_of(actor, programme),
        around=Circumstances(
            days_off=_days_off(programme, actor),
            minutes_a_day=programme.minutes_a_day,
            vet_dates=tuple(sorted(row.on for row in programme.dog.vet_dates.all())),
            pieces_a_day=_pieces_a_day(actor, programme, now),
            exposures_by_day=_room_for_exposures(actor, programme, now),
            held_today=_held_today(known, actor, now),
        ),
    )
    return Gathered(given, known, _key(given, known, now))


def _days_off(programme: Programme, actor: Actor) -> tuple[date, ...]:
    """Return the days off: those of the stay, and those that an appointment takes whole."""
    whole = [local_day(start, actor.zone) for start in list_whole_days(programme)]
    return tuple(sorted({*map(date.fromisoformat, programme.days_off), *whole}))


def _room_for_exposures(actor: Actor, programme: Programme, now: datetime) -> dict[date, int]:
    """Return the sessions' room that the exposures still open take by day."""
    page = read_exposures(actor, programme.id, now=now)
    numbers = Counter(one.on for one in page.spread.dated) + Counter({local_day(now, actor.zone): len(page.today)})
    return {day: ceil(n / EXPOSURES_A_SESSION) for day, n in numbers.items()}


def _pieces_a_day(actor: Actor, programme: Programme, now: datetime) -> int | None:
    """Return the rewards that the day's food can pay; None where not even the ration and a piece of it are known.

    Without a weight or a label: those in the smallest pieces out of the ration.
    """
    by_split = count_rewards(actor, programme.dog_id, now=now)
    if by_split is not None:
        return by_split
    pieces_g = [one.piece_g for one in list_reinforcers(actor) if one.from_ration and one.piece_g > 0.0]
    daily_g = programme.dog.daily_food_g
    return None if daily_g is None or not pieces_g else reward_pieces(daily_g, min(pieces_g))


def _held_today(known: Knowledge, actor: Actor, now: datetime) -> dict[str, int]:
    today = local_day(now, actor.zone)
    held = {
        (trial.behaviour, trial.session_id)
        for trial in known.trials
        if trial.kind is SessionKind.TRAINING and local_day(trial.at, actor.zone) == today
    }
    return dict(sorted(Counter(behaviour for behaviour, _ in held).items()))


def _key(given: PlanInput, known: Knowledge, now: datetime) -> str:
    """Return a key of the wishes, the day, and the record of this morning; sessions of today do not change it."""
    morning, around = known.morning(now), given.around
    newest = morning.trials[-1].event_id if morning.trials else ""
    parts = (
        given.aims,
        given.frame,
        (around.days_off, around.vet_dates, around.pieces_a_day, around.minutes_a_day),
        local_day(now, given.frame.zone),
        (len(morning.trials), newest),
    )
    return sha256(repr(parts).encode()).hexdigest()
