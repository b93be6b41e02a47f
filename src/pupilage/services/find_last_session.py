"""The newest session of a workspace."""

from uuid import UUID

from pupilage.core.access import Actor
from pupilage.storage.queries.sessions import sessions_readable_by


def find_last_session(actor: Actor) -> UUID | None:
    """Return the id of the session that started last, or None. Who may: whoever may read."""
    return sessions_readable_by(actor).values_list("id", flat=True).first()
