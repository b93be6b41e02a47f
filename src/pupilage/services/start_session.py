"""Starting a training session or a probe."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.record_events import Status, record_events, require_step
from pupilage.storage.queries.dogs import list_reinforcers
from pupilage.storage.queries.programmes import programme_writable_by


@dataclass(frozen=True)
class SessionStart:
    """What a session starts with.

    pieces: how many are in the pouch, None when nobody counts. handler: who works with the dog, empty for the trainer.
    place: where, as the trainer calls it; empty when nobody says.
    """

    behaviour: str
    step: str
    kind: SessionKind = SessionKind.TRAINING
    reinforcer: str = ""
    pieces: int | None = None
    handler: str = ""
    place: str = ""


def start_session(
    actor: Actor,
    programme_id: UUID,
    start: SessionStart,
    *,
    device_id: UUID,
    tz_offset_min: int,
    now: datetime,
) -> UUID:
    """Write the event that starts a session and return the session's id.

    Who may: whoever may write. Not idempotent: each call starts another session.
    Raises InvalidInput for an unknown behaviour, step or reinforcer, all at once.
    """
    programme = programme_writable_by(actor, programme_id)
    require_step(start.behaviour, start.step)
    problems = []
    if start.reinforcer and start.reinforcer not in {r.name for r in list_reinforcers(actor)}:
        problems.append(
            Problem(
                "reinforcer",
                "“{name}” is not on your list of reinforcers; add it first.",
                name=start.reinforcer,
            )
        )
    if start.pieces is not None and not 0 <= start.pieces <= 500:
        problems.append(
            Problem("pieces", "{n} pieces do not fit a pouch; give a number from 0 to 500.", n=start.pieces)
        )
    if problems:
        raise InvalidInput(problems)
    session_id = uuid4()
    event = Event(
        id=str(uuid4()),
        device_id=str(device_id),
        device_seq=0,
        session_id=str(session_id),
        kind=EventKind.SESSION_STARTED,
        at=now,
        tz_offset_min=tz_offset_min,
        payload={
            "programme": str(programme.id),
            "behaviour": start.behaviour,
            "step": start.step,
            "kind": start.kind.value,
            "reinforcer": start.reinforcer,
            "pieces": start.pieces,
            "cold": start.kind is SessionKind.PROBE,
            "handler": _one_line(start.handler),
            "place": _one_line(start.place),
        },
    )
    (verdict,) = record_events(actor, [event], now=now)
    if verdict.status is not Status.STORED:
        raise InvalidInput.of("", str(verdict.reason))
    return session_id


def _one_line(name: str) -> str:
    """Return a name without the spaces around it and between its words doubled, so that two spellings meet."""
    return " ".join(name.split())
