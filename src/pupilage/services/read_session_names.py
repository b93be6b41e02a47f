"""Who worked with the dog and where, in earlier sessions: what the card before the next one offers."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import last_session_of_device, list_session_names

MOST_OFFERED = 12
SAME_OUTING = timedelta(hours=3)
"""So long after a session the next one on the same phone is probably with the same person."""


@dataclass(frozen=True)
class SessionNames:
    """Names of people and places used before, the newest first, and those that the card proposes."""

    handlers: tuple[str, ...]
    places: tuple[str, ...]
    handler: str = ""
    place: str = ""


def read_session_names(actor: Actor, programme_id: UUID, *, device_id: UUID, now: datetime) -> SessionNames:
    """Return the names to offer for a stay's next session. Who may: whoever may read. Raises NotFound.

    The place of the phone's last session in this stay stands until another is said; whoever worked with the dog stands
    for `SAME_OUTING`, after which it is the trainer again.
    """
    programme = programme_readable_by(actor, programme_id)
    used = list_session_names(programme)
    handlers = dict.fromkeys(handler for handler, _ in used if handler)
    places = dict.fromkeys(place for _, place in used if place)
    last = last_session_of_device(programme, device_id)
    lately = last is not None and timedelta(0) <= now - last.started_at <= SAME_OUTING
    return SessionNames(
        handlers=tuple(handlers)[:MOST_OFFERED],
        places=tuple(places)[:MOST_OFFERED],
        handler=last.handler if last is not None and lately else "",
        place=last.place if last is not None else "",
    )
