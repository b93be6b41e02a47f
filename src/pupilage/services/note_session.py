"""Adding a note to a session, also after it has ended."""

from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.record_events import Status, record_events
from pupilage.storage.queries.sessions import session_readable_by


def note_session(
    actor: Actor, session_id: UUID, text: str, *, device_id: UUID, tz_offset_min: int, now: datetime
) -> None:
    """Write a note into a session's log. Who may: whoever may write. Not idempotent: each call is another note.

    Raises InvalidInput for an empty note or one beyond 5000 letters, NotFound for an unknown session.
    """
    session_readable_by(actor, session_id)
    if not text.strip():
        raise InvalidInput.of("text", "The note is empty; write something first.")
    payload = {"text": text.strip()}
    note = Event(str(uuid4()), str(device_id), 0, str(session_id), EventKind.NOTE, now, tz_offset_min, payload)
    (verdict,) = record_events(actor, [note], now=now)
    if verdict.status is not Status.STORED:
        raise InvalidInput.of("text", str(verdict.reason))
