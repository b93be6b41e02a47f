"""The way of one behaviour from its baseline to today, and what can be said of it now. Nothing is written."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Step
from pupilage.core.clock import local_day
from pupilage.core.errors import NotFound
from pupilage.core.evaluation.celeration import celerate
from pupilage.core.handover.places import count_by_place
from pupilage.core.progress.course import StepChance
from pupilage.core.progress.days import list_days, met_rates, missed_rates
from pupilage.core.progress.showings import list_people, list_places
from pupilage.core.progress.way import Way
from pupilage.core.training.criterion.advice import MIN_TRIALS
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.posterior.belief import Belief, believe
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.retention import (
    cold_reading,
    days_until_due,
    forecast_without_practice,
    name_the_fall,
)
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.history import require_step
from pupilage.core.training.thresholds.plane import Plane, read_plane
from pupilage.core.training.thresholds.weighing import weigh
from pupilage.services.know_course import know_course
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, frame_of, head_of, known_this_morning
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import list_goals, programme_readable_by
from pupilage.storage.queries.sessions import list_session_spans


@dataclass(frozen=True)
class ProgressPage:
    """A stay's frame, and one behaviour's way in it."""

    head: ProgrammeHead
    way: Way


def read_progress(actor: Actor, programme_id: UUID, behaviour: str, *, now: datetime) -> ProgressPage:
    """Return the way of a behaviour. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    found = load_catalogue().find_behaviour(behaviour)
    if found is None:
        raise NotFound("“{key}” is not in the catalogue; `pupilage catalogue` lists what is.", key=behaviour)
    way = _way(actor, programme, found, know_dog(actor, programme), now=now)
    return ProgressPage(head_of(actor, programme, now=now), way)


def _way(actor: Actor, programme: Programme, behaviour: Behaviour, known: Knowledge, *, now: datetime) -> Way:
    trials, zone = known.of(behaviour.key), known.state.zone
    spans, tried = list_session_spans(programme), bool(trials)
    target, is_goal = _target(programme, behaviour)
    days_left = frame_of(actor, programme).days_left(now)
    step = require_step(behaviour, current_step(behaviour, known, now=now, target=target.key, days_left=days_left))
    place, goal = (behaviour.step_index(one.key) or 0 for one in (step, target))
    days, state = list_days(trials, spans, zone), known.arrived(now)
    trained = any(trial.kind is SessionKind.TRAINING for trial in trials)
    return Way(
        behaviour=behaviour,
        step=step,
        target=target,
        is_goal=is_goal,
        days=days,
        evenings=know_course(programme, known).of(behaviour.key),
        today=_today(known, behaviour, place, now=now) if days else None,
        baseline=read_baseline(trials),
        met=celerate(met_rates(days)),
        missed=celerate(missed_rates(days)),
        where_asked=count_by_place(behaviour, target.key, trials),
        places=list_places(trials, spans, zone),
        people=list_people(trials, spans, zone),
        plane=_plane(known, behaviour, place, now=now) if tried else None,
        retention=forecast_without_practice(state, behaviour.key, place, now=now) if days else None,
        due_in_days=days_until_due(state, behaviour, goal, now=now) if trained and place >= goal else None,
        fall=name_the_fall(state, behaviour.key, place, now=now) if trained else None,
    )


def _target(programme: Programme, behaviour: Behaviour) -> tuple[Step, bool]:
    """Return the goal's step, else the catalogue's, and whether the behaviour is a goal."""
    goal = next((one.step for one in list_goals(programme) if one.behaviour == behaviour.key), None)
    step = None if goal is None else behaviour.step(goal)
    return step or require_step(behaviour, behaviour.target), goal is not None


def _today(known: Knowledge, behaviour: Behaviour, place: int, *, now: datetime) -> StepChance:
    reading = cold_reading(known.arrived(now), behaviour.key, place, now=now)
    return StepChance(reading.mean, *reading.interval())


def read_baseline(trials: Sequence[Trial]) -> Belief | None:
    """Return what the cold tries before the first training say; None where nobody measured before teaching."""
    before: list[Trial] = []
    for trial in trials:
        if trial.kind is SessionKind.TRAINING:
            break
        before.append(trial)
    return believe(before) if any(trial.outcome is not Outcome.VOID for trial in before) else None


def _plane(known: Knowledge, behaviour: Behaviour, place: int, *, now: datetime) -> Plane | None:
    """Return the map as of this morning, kept for the day: it takes a third of a second."""
    morning = known_this_morning(known, now)
    if len(morning.of(behaviour.key)) < MIN_TRIALS:
        return None
    day = local_day(now, known.state.zone)
    weighed = morning.keep(("weighed", behaviour.key, day), lambda: weigh(morning, behaviour, now=now))
    return morning.keep(("plane", behaviour.key, place, day), lambda: read_plane(weighed, place))
