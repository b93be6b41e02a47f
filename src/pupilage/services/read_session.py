"""What a session's record shows: its trials, and every event with what was taken back or put right."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.criterion.pace import food_counted, median_latency_s, reinforcement_per_min
from pupilage.core.training.posterior.belief import Belief, believe
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Trial
from pupilage.core.training.record.fold import SessionRecord, fold_session, in_order
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.sessions import list_events, session_readable_by


@dataclass(frozen=True)
class LogLine:
    """One entry of the log. taken_back: it was withdrawn and no longer counts."""

    event: Event
    taken_back: bool


@dataclass(frozen=True)
class SessionPage:
    """A session's record. behaviour is None when it has left the catalogue.

    belief is about all its trials, for the counts; at_last_step about those at the step where it ended.
    """

    id: UUID
    programme_id: UUID
    dog: str
    behaviour_key: str
    behaviour: Behaviour | None
    record: SessionRecord
    log: tuple[LogLine, ...]
    belief: Belief
    at_last_step: Belief
    per_min: float | None
    median_latency_s: float | None

    def step_summary(self, trial: Trial) -> str:
        """Return what was asked at a trial, in words."""
        step = self.behaviour.step(trial.step) if self.behaviour else None
        return step.summary if step else trial.step


def read_session(actor: Actor, session_id: UUID, *, now: datetime) -> SessionPage:
    """Return a session's record. Who may: whoever may read. Raises NotFound."""
    row = session_readable_by(actor, session_id)
    events = in_order(list_events(actor, session_id))
    record = fold_session(events)
    assert record is not None  # noqa: S101  a session's row is made from its start
    taken_back = {str(e.payload["event"]) for e in events if e.kind is EventKind.WITHDRAWN}
    return SessionPage(
        id=session_id,
        programme_id=row.programme_id,
        dog=row.programme.dog.name,
        behaviour_key=row.behaviour,
        behaviour=load_catalogue().find_behaviour(row.behaviour),
        record=record,
        log=tuple(LogLine(event, event.id in taken_back) for event in events),
        belief=believe(record.trials),
        at_last_step=believe(trial for trial in record.trials if trial.step == record.step),
        per_min=reinforcement_per_min(food_counted(record.trials), record.started_at, record.ended_at or now),
        median_latency_s=median_latency_s(record.trials),
    )
