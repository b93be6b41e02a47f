"""What the session screen shows: the tries so far, the decision with its reason, the next hold."""

from collections.abc import Mapping, Set
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Scoring, Step
from pupilage.core.errors import NotFound
from pupilage.core.training.criterion.decision import Action, Decision, decide, run_letters
from pupilage.core.training.criterion.holds import MIDDLE, RECENT_HOLDS, HoldTarget, believe_holds, next_target
from pupilage.core.training.criterion.pace import reinforcement_per_min
from pupilage.core.training.criterion.probe import probe_advice
from pupilage.core.training.criterion.sets_of_five import judge_set_of_five
from pupilage.core.training.criterion.watching import Watch, watch
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import duration_held_with
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind
from pupilage.core.training.record.fold import SessionRecord, fold_session
from pupilage.core.training.record.history import run_at
from pupilage.core.training.rewards.latencies import find_typical_s, times_of
from pupilage.core.training.rewards.paying import PayPlan, plan_pay
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import frame_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import TrainingSession
from pupilage.storage.queries.dogs import list_reinforcers
from pupilage.storage.queries.programmes import find_target
from pupilage.storage.queries.sessions import list_events, session_readable_by


@dataclass(frozen=True)
class Alone:
    """What lay before a session, for a phone that hears nothing: the step tried last, and the run there as letters.

    holds: by step, the newest ones; expected_s: by step, what is expected to be held before the first.
    """

    step: str | None
    run: str
    holds: Mapping[str, tuple[Hold, ...]] = field(default_factory=dict)
    expected_s: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class LiveSession:
    """A session as it stands. step is where practice is now; next_step is where the decision leads.

    per_min: reinforcers a minute, None while the session is too young; set_of_five: what the common practice would
    do with the last complete set, None without one; next_hold: only for a behaviour scored as holds; pay: which
    correct responses are rewarded, None while every one is; watches: what the session suggests;
    goal: the place of the goal's step; alone: for a phone on its own; latency_s: usual at this step, None with too few
    taken.
    """

    id: UUID
    programme_id: UUID
    dog: str
    behaviour: Behaviour
    step: Step
    next_step: Step
    record: SessionRecord
    decision: Decision
    set_of_five: Action | None
    set_of_five_step: Step
    per_min: float | None
    next_hold: HoldTarget | None
    pay: PayPlan | None = None
    latency_s: float | None = None
    watches: tuple[Watch, ...] = ()
    goal: int = 0
    alone: Alone | None = None

    @property
    def is_hold(self) -> bool:
        return self.behaviour.scoring is Scoring.HOLD

    @property
    def is_probe(self) -> bool:
        return self.record.kind is SessionKind.PROBE


def read_live_session(actor: Actor, session_id: UUID, *, now: datetime) -> LiveSession:
    """Return a session for its screen. Who may: whoever may read. Raises NotFound."""
    row = session_readable_by(actor, session_id)
    record = fold_session(list_events(actor, session_id))
    behaviour = load_catalogue().find_behaviour(row.behaviour)
    if record is None or behaviour is None:
        raise NotFound("This session's behaviour is no longer in the catalogue; its record is still kept.")
    around = Around(
        row.programme.id,
        row.programme.dog.name,
        know_dog(actor, row.programme),
        find_target(row.programme, behaviour.key),
        frame_of(actor, row.programme).days_left(now),
        foods_of(actor),
    )
    return live_session_of(record, behaviour, around, now=now)


@dataclass(frozen=True)
class Around:
    """What a session's screen rests on beside the session itself. foods: reinforcers that are weighed."""

    programme_id: UUID
    dog: str
    known: Knowledge
    target: str | None
    days_left: int
    foods: Set[str]


def live_session_of(record: SessionRecord, behaviour: Behaviour, around: Around, *, now: datetime) -> LiveSession:
    """Return what the screen shows of a session with this record, begun or about to be. Makes no query."""
    step, known = behaviour.step(record.step) or behaviour.steps[0], around.known
    decision = decide(
        behaviour,
        step.key,
        known,
        session_id=record.session_id,
        now=now,
        pieces_left=record.pieces_left,
        target=around.target,
        days_left=around.days_left,
    )
    alone = _alone(behaviour, known, record, now)
    next_hold = _next_hold(behaviour, step, known, record, alone.expected_s)
    pay = _pay(behaviour, known, record, around.target, next_hold) if record.reinforcer in around.foods else None
    here = [t.outcome for t in record.trials if t.step == step.key and t.outcome is not Outcome.VOID]
    by_five = judge_set_of_five(here)
    return LiveSession(
        id=UUID(record.session_id),
        programme_id=around.programme_id,
        dog=around.dog,
        behaviour=behaviour,
        step=step,
        next_step=behaviour.step(decision.step) or step,
        record=record,
        decision=decision,
        set_of_five=by_five,
        set_of_five_step=_step_after(behaviour, step, by_five),
        per_min=reinforcement_per_min(
            record.trials if pay is None else [t for t in record.trials if t.pieces],
            record.started_at,
            record.ended_at or now,
        ),
        next_hold=next_hold,
        pay=pay,
        latency_s=find_typical_s(times_of(step, known.of(behaviour.key))),
        watches=tuple(watch(record.trials, record.seen, scoring=behaviour.scoring)),
        goal=behaviour.step_index(around.target or behaviour.target) or 0,
        alone=alone,
    )


def _alone(behaviour: Behaviour, known: Knowledge, record: SessionRecord, now: datetime) -> Alone:
    """Return what a phone needs of the record before this session to decide by itself.

    A mat without a record begins at the step that the dog does already, as whoever trains says: what is expected there
    is the step's own duration, until the first hold.
    """
    earlier = [t for t in known.of(behaviour.key) if t.session_id != record.session_id and t.at <= record.started_at]
    counted = [t for t in earlier if t.kind is SessionKind.TRAINING and t.outcome is not Outcome.VOID]
    last = counted[-1].step if counted else None
    step = behaviour.step(last) if last else None
    run = "" if step is None else "".join(run_letters(run_at(step.key, earlier), step.criterion.duration_s))
    if behaviour.scoring is not Scoring.HOLD:
        return Alone(last, run)
    holds = {s.key: [t.hold for t in earlier if t.hold is not None and t.step == s.key] for s in behaviour.steps}
    moment = known.at(behaviour.key, now)
    expected = {s.key: duration_held_with(moment, i, MIDDLE) for i, s in enumerate(behaviour.steps)}
    begun_at = behaviour.step(record.step)
    if record.beside and not earlier and begun_at is not None:
        expected[begun_at.key] = max(expected[begun_at.key], begun_at.criterion.duration_s)
    return Alone(last, run, {key: tuple(found[-RECENT_HOLDS:]) for key, found in holds.items()}, expected)


def foods_of(actor: Actor) -> frozenset[str]:
    """Return what a pup works for as food: a toy, praise and all that nobody weighs stay free."""
    return frozenset(one.name for one in list_reinforcers(actor, retired=True) if one.piece_g > 0)


def _pay(
    behaviour: Behaviour, known: Knowledge, record: SessionRecord, target: str | None, next_hold: HoldTarget | None
) -> PayPlan | None:
    """Return which correct responses are rewarded; a probe measures cold and has no plan."""
    if record.kind is SessionKind.PROBE:
        return None
    return plan_pay(
        behaviour,
        known,
        session_id=record.session_id,
        step=record.step,
        started_at=record.started_at,
        target=target,
        next_hold_s=next_hold.target_s if next_hold else None,
    )


def _step_after(behaviour: Behaviour, step: Step, action: Action | None) -> Step:
    """Return the step that an action leads to; the first and the last lead no further."""
    move = {Action.RAISE: 1, Action.LOWER: -1}.get(action, 0) if action else 0
    index = (behaviour.step_index(step.key) or 0) + move
    return behaviour.steps[min(max(index, 0), len(behaviour.steps) - 1)]


def _next_hold(
    behaviour: Behaviour, step: Step, known: Knowledge, record: SessionRecord, expected_s: Mapping[str, float]
) -> HoldTarget | None:
    if behaviour.scoring is not Scoring.HOLD:
        return None
    holds = [trial.hold for trial in known.of(behaviour.key) if trial.hold is not None and trial.step == step.key]
    asked = step.criterion.duration_s
    if record.kind is SessionKind.PROBE:
        return HoldTarget(asked, believe_holds(asked, holds).chance_to_hold(asked), probe_advice(len(record.trials)))
    n_here = sum(trial.hold is not None for trial in record.trials)
    return next_target(asked, holds, n_in_session=n_here, expected_s=None if holds else expected_s[step.key])


def find_open_session(actor: Actor, programme_id: UUID) -> UUID | None:
    """Return the newest session of a programme that has not ended, if any."""
    return (
        TrainingSession.objects.filter(workspace_id=actor.workspace_id, programme_id=programme_id, ended_at=None)
        .order_by("-started_at")
        .values_list("id", flat=True)
        .first()
    )
