"""The keepers of the workspaces in this database, for the command line."""

from dataclasses import dataclass

from pupilage.core.access import Actor, Role
from pupilage.core.units import WeightUnit
from pupilage.storage.models import Membership


@dataclass(frozen=True)
class Keeper:
    """A workspace's name and its first keeper, as actor."""

    workspace: str
    actor: Actor


def list_keepers() -> list[Keeper]:
    """Return the first keeper of each workspace, the oldest workspace first."""
    rows = (
        Membership.objects.select_related("workspace")
        .filter(role=Role.KEEPER.value, user__is_active=True)
        .order_by("workspace__created_at", "id")
    )
    firsts = {row.workspace_id: row for row in reversed(rows)}
    return [_keeper(row) for row in reversed(firsts.values())]


def _keeper(row: Membership) -> Keeper:
    workspace = row.workspace
    actor = Actor(
        user_id=row.user_id,
        workspace_id=workspace.id,
        role=Role.KEEPER,
        timezone=workspace.timezone,
        weight_unit=WeightUnit(workspace.weight_unit),
        language=workspace.language,
    )
    return Keeper(workspace.name, actor)
