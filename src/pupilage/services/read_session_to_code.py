"""What a person sees who codes a session blind."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.sessions import session_readable_by


@dataclass(frozen=True)
class SessionToCode:
    """What a person sees who codes a session: what is asked and what counts, and nothing of what was written down."""

    session_id: UUID
    dog: str
    behaviour: Behaviour | None
    behaviour_key: str
    started_at: datetime
    is_open: bool


def read_session_to_code(actor: Actor, session_id: UUID) -> SessionToCode:
    """Return what a person needs who codes a session blind. Who may: whoever may read. Raises NotFound."""
    row = session_readable_by(actor, session_id)
    return SessionToCode(
        session_id,
        row.programme.dog.name,
        load_catalogue().find_behaviour(row.behaviour),
        row.behaviour,
        row.started_at,
        row.ended_at is None,
    )
