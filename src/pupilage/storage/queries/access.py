"""Who may act, and where."""

from uuid import UUID

from pupilage.core.access import Actor, Role
from pupilage.core.errors import NotFound
from pupilage.core.units import WeightUnit
from pupilage.storage.models import Membership


def find_actor(user_id: UUID) -> Actor | None:
    """Return the person in their workspace, or None when they belong to none."""
    membership = (
        Membership.objects.select_related("workspace")
        .filter(user_id=user_id, user__is_active=True)
        .order_by("id")
        .first()
    )
    if membership is None:
        return None
    workspace = membership.workspace
    return Actor(
        user_id=user_id,
        workspace_id=workspace.id,
        role=Role(membership.role),
        timezone=workspace.timezone,
        weight_unit=WeightUnit(workspace.weight_unit),
        language=workspace.language,
        invented=workspace.invented,
    )


def get_actor(user_id: UUID) -> Actor:
    """Return the person in their workspace. Raises NotFound when they belong to none."""
    actor = find_actor(user_id)
    if actor is None:
        raise NotFound("This account belongs to no workspace; ask its keeper to add it.")
    return actor
