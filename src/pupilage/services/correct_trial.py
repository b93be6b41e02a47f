"""Putting a trial right after the session: another outcome, or taken back."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, NotFound
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.training.record.fold import fold_session
from pupilage.services.record_events import Status, record_events
from pupilage.storage.queries.sessions import list_events, session_readable_by


@dataclass(frozen=True)
class Correction:
    """What is to stand for a trial. event_id: the trial's own event; outcome None takes the trial back."""

    event_id: UUID
    outcome: Outcome | None


def correct_trial(
    actor: Actor,
    session_id: UUID,
    correction: Correction,
    *,
    device_id: UUID,
    tz_offset_min: int,
    now: datetime,
) -> None:
    """Write an event that points at a trial; nothing is overwritten. Who may: whoever may write.

    Idempotent in what stands: an outcome that stands already writes nothing. Raises NotFound for a trial that this
    session does not have, or that was taken back already.
    """
    actor.require_write()
    session_readable_by(actor, session_id)
    record = fold_session(list_events(actor, session_id))
    trials = {trial.event_id: trial for trial in record.trials} if record else {}
    trial = trials.get(str(correction.event_id))
    if trial is None:
        raise NotFound("This try is not in the session, or was taken back already; look at the session's log.")
    if correction.outcome is trial.outcome:
        return
    event = Event(
        id=str(uuid4()),
        device_id=str(device_id),
        device_seq=0,
        session_id=str(session_id),
        kind=EventKind.WITHDRAWN if correction.outcome is None else EventKind.CORRECTED,
        at=now,
        tz_offset_min=tz_offset_min,
        payload={"event": trial.event_id}
        if correction.outcome is None
        else {"event": trial.event_id, "outcome": correction.outcome.value},
    )
    (verdict,) = record_events(actor, [event], now=now)
    if verdict.status is not Status.STORED:
        raise InvalidInput.of("", "The correction was not stored: {reason}", reason=str(verdict.reason))
