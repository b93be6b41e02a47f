"""Who a signed-in person is."""

from uuid import UUID

from pupilage.core.access import Actor
from pupilage.storage.queries import access


def find_actor(user_id: UUID) -> Actor | None:
    """Return the person in their workspace, or None when they belong to none."""
    return access.find_actor(user_id)
