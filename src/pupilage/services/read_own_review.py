"""A trainer's look back over all ended stays: forecasts beside outcomes, roads to goals, own slips."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from math import inf
from time import monotonic
from typing import Any

from django.db import transaction

from pupilage.core.access import Actor, Role
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.errors import Forbidden, InvalidInput
from pupilage.core.evaluation.forecast_scores import LEAST_FORECASTS, LEAST_STAYS, Scores, Told, score
from pupilage.core.own_review.outcomes import BehaviourRoad, Evidence, Road, outcome_of, road_to, summarise_roads
from pupilage.core.own_review.replay import SessionLog, as_stored, count_overruled, from_stored, replay
from pupilage.core.own_review.slips import LogCounts, Slips, add_up
from pupilage.core.planning.standing import Frame, GoalAim
from pupilage.core.recordings.handling import Handling, handling_of
from pupilage.core.training.pooling.prior_shape import SHIPPED, find_shape, prior_of
from pupilage.core.training.record.events import EventKind
from pupilage.core.training.record.evidence import Trial, TrialSource
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme, Recording, ReplayedStay, SessionEvent, TrainingSession
from pupilage.storage.queries.programmes import list_ended_programmes, list_goals
from pupilage.storage.queries.recordings import list_recording_events
from pupilage.storage.queries.sessions import event_of, list_trials
from pupilage.storage.trial_rules import rules_of_catalogue

VERSION = 1
"""Of the replay; a higher one makes every kept one again."""

MOST_STAYS = 60
"""The newest ones; an own choice, so that the first look does not take minutes."""

NOTHING: dict[str, Any] = {"told": [], "overruled": [0, 0, 0]}


@dataclass(frozen=True)
class OwnReview:
    """The review. n_waiting: stays whose forecasts are not worked out yet, and are in no score.

    n_goals: of the ended stays; by_evidence: how their outcomes were read; n_forecasts: with an outcome.

    scores, cold_scores: of all forecasts with an outcome, and of those tested cold; None where there are too few.
    """

    n_stays: int
    n_waiting: int
    n_goals: int
    by_evidence: dict[Evidence, int]
    n_forecasts: int
    n_cold_forecasts: int
    need_forecasts: int
    need_stays: int
    scores: Scores | None
    cold_scores: Scores | None
    roads: tuple[BehaviourRoad, ...]
    slips: Slips

    @property
    def n_worked_out(self) -> int:
        """The stays whose forecasts are worked out."""
        return self.n_stays - self.n_waiting


def require_own(actor: Actor) -> None:
    """Raises Forbidden for anybody but the keeper: the review is the trainer's own."""
    if actor.role is not Role.KEEPER:
        raise Forbidden("This look back is for the keeper of the workspace alone.")


def read_own_review(
    actor: Actor,
    *,
    now: datetime,
    most_new_s: float = inf,
    each: Callable[[int, int], object] = lambda _done, _all: None,
) -> OwnReview:
    """Return the review of the ended stays, and keep what was replayed. Who may: the keeper alone.

    Each stay is replayed once, and again when its record, goals or dates change; the replay runs outside of any
    transaction. most_new_s: seconds after which no other stay is replayed now, and those left wait; the first one is in
    any case. each: called with the stays done and all of them.
    """
    require_own(actor)
    stays = list_ended_programmes(actor, local_day(now, actor.zone), limit=MOST_STAYS)
    found = _Found(monotonic() + most_new_s)
    for n, stay in enumerate(stays, start=1):
        _read_stay(actor, stay, found, now=now)
        each(n, len(stays))
    cold = [told for told, evidence in found.told if evidence is Evidence.COLD]
    return OwnReview(
        n_stays=len(stays),
        n_waiting=found.n_waiting,
        n_goals=sum(found.by_evidence.values()),
        by_evidence=dict(found.by_evidence),
        n_forecasts=len(found.told),
        n_cold_forecasts=len(cold),
        need_forecasts=LEAST_FORECASTS,
        need_stays=LEAST_STAYS,
        scores=score([told for told, _ in found.told]),
        cold_scores=score(cold),
        roads=_roads(found.roads),
        slips=add_up(
            _handlings(actor),
            _log_counts(actor),
            n_advised=found.overruled[0],
            n_higher=found.overruled[1],
            n_lower=found.overruled[2],
        ),
    )


class _Found:
    """What the stays have told so far."""

    def __init__(self, replay_until: float) -> None:
        self.replay_until = replay_until
        self.n_replayed = 0
        self.n_waiting = 0
        self.told: list[tuple[Told, Evidence]] = []
        self.by_evidence: dict[Evidence, int] = defaultdict(int)
        self.roads: dict[str, list[Road]] = defaultdict(list)
        self.overruled = [0, 0, 0]


def _read_stay(actor: Actor, stay: Programme, found: _Found, *, now: datetime) -> None:
    catalogue = load_catalogue()
    trials = list_trials(stay)
    body = _replayed(actor, stay, trials, found, now=now)
    handover_at, _ = day_bounds(stay.handover_on, actor.zone)
    chances = defaultdict(list)
    for one in from_stored(body["told"]):
        chances[one.behaviour].append(one)
    found.overruled = [a + b for a, b in zip(found.overruled, body["overruled"], strict=True)]
    for goal in list_goals(stay):
        behaviour = catalogue.find_behaviour(goal.behaviour)
        if behaviour is None or behaviour.step(goal.step) is None:
            continue
        own = [trial for trial in trials if trial.behaviour == goal.behaviour]
        road = road_to(behaviour, goal.step, own, actor.zone)
        found.roads[behaviour.key] += [] if road is None else [road]
        outcome = outcome_of(behaviour, goal.step, own, handover_at=handover_at)
        found.by_evidence[outcome.evidence] += 1
        for one in chances[goal.behaviour]:
            is_before = outcome.since is None or one.on < local_day(outcome.since, actor.zone)
            if outcome.met is not None and one.step == goal.step and is_before:
                found.told.append((Told(one.p, outcome.met, str(stay.id)), outcome.evidence))


def _replayed(
    actor: Actor, stay: Programme, trials: Sequence[Trial], found: _Found, *, now: datetime
) -> dict[str, Any]:
    """Return what is kept of a stay's replay, or make and keep it; nothing of one that has to wait."""
    logs = _logs(stay)
    made_from = _made_from(actor, stay, logs)
    kept = ReplayedStay.objects.filter(programme=stay, made_from=made_from).first()
    if kept is not None:
        body: dict[str, Any] = kept.body
        return body
    if found.n_replayed and monotonic() > found.replay_until:
        found.n_waiting += 1
        return NOTHING
    found.n_replayed += 1
    body = _replay(actor, stay, logs, trials)
    with transaction.atomic():
        ReplayedStay.objects.update_or_create(
            programme=stay,
            defaults={"workspace_id": stay.workspace_id, "made_from": made_from, "body": body, "made_at": now},
        )
    return body


def _replay(actor: Actor, stay: Programme, logs: Sequence[SessionLog], trials: Sequence[Trial]) -> dict[str, Any]:
    catalogue = load_catalogue()
    aims = [GoalAim(goal.behaviour, goal.step, goal.weight) for goal in list_goals(stay)]
    frame = Frame(stay.dog.born_on, stay.arrival_on, stay.handover_on, stay.sessions_a_day, actor.zone)
    prior = prior_of(find_shape(stay.prior_shape) or SHIPPED)
    try:
        told = replay(aims, logs, catalogue=catalogue, frame=frame, prior=prior)
        overruled = count_overruled(aims, trials, catalogue=catalogue, frame=frame, prior=prior)
    except InvalidInput:
        return NOTHING  # an old record that cannot be read must not hide all the others
    return {"told": as_stored(told), "overruled": [overruled.n, overruled.n_higher, overruled.n_lower]}


def _logs(stay: Programme) -> list[SessionLog]:
    sources = dict(TrainingSession.objects.filter(programme=stay).values_list("id", "source"))
    rows = SessionEvent.objects.filter(workspace_id=stay.workspace_id, session_id__in=list(sources))
    events = groupby(rows.order_by("session_id", "id"), key=lambda row: row.session_id)
    return [SessionLog(tuple(event_of(row) for row in own), TrialSource(sources[key])) for key, own in events]


def _made_from(actor: Actor, stay: Programme, logs: Sequence[SessionLog]) -> str:
    goals = [(goal.behaviour, goal.step, goal.weight) for goal in list_goals(stay)]
    steps = {
        key: [step.key for step in behaviour.steps]
        for key, behaviour in sorted(load_catalogue().behaviours.items())
        if key in {goal[0] for goal in goals}
    }
    ids = hashlib.sha256("".join(sorted(event.id for log in logs for event in log.events)).encode()).hexdigest()
    frame = [str(stay.dog.born_on), str(stay.arrival_on), str(stay.handover_on), stay.sessions_a_day, actor.timezone]
    whole = json.dumps([VERSION, ids, goals, steps, frame, stay.prior_shape], sort_keys=True)
    return hashlib.sha256(whole.encode()).hexdigest()


def _roads(roads: dict[str, list[Road]]) -> tuple[BehaviourRoad, ...]:
    catalogue = load_catalogue()
    found = [
        BehaviourRoad(key, catalogue.behaviours[key].name, summarise_roads(own)) for key, own in roads.items() if own
    ]
    return tuple(sorted(found, key=lambda one: (-one.summary.n, one.name)))


def _handlings(actor: Actor) -> list[tuple[Handling, float]]:
    """Return what the words of every recording that was read say of the trainer, with its minutes."""
    rules = rules_of_catalogue()
    found = []
    for row in Recording.objects.filter(workspace_id=actor.workspace_id, duration_s__gt=0).order_by("added_at", "id"):
        events = list_recording_events(row)
        if events and row.duration_s is not None:
            found.append((handling_of(events, duration_s=row.duration_s, rules=rules), row.duration_s / 60.0))
    return found


def _log_counts(actor: Actor) -> LogCounts:
    """Return what the whole log holds; tries that were imported or heard are no taps, and still count as tries."""
    rows = SessionEvent.objects.filter(workspace_id=actor.workspace_id)

    def n(*kinds: EventKind) -> int:
        return rows.filter(kind__in=[kind.value for kind in kinds]).count()

    return LogCounts(
        n_tries=n(EventKind.TRIAL, EventKind.HOLD_BROKE, EventKind.HOLD_RELEASED),
        n_taken_back=n(EventKind.WITHDRAWN),
        n_corrected=n(EventKind.CORRECTED),
        n_step_changes=n(EventKind.STEP_CHANGED),
        n_sessions=TrainingSession.objects.filter(workspace_id=actor.workspace_id).count(),
    )
