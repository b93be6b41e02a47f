"""What the settings page shows."""

from dataclasses import dataclass

from pupilage.core.access import Actor
from pupilage.storage.models import Workspace


@dataclass(frozen=True)
class WorkspacePage:
    """A workspace: its name, how things are shown, and whether all in it is invented."""

    name: str
    language: str
    timezone: str
    weight_unit: str
    invented: bool


def read_workspace(actor: Actor) -> WorkspacePage:
    """Return the actor's workspace. Who may: whoever may read."""
    row = Workspace.objects.get(id=actor.workspace_id)
    return WorkspacePage(row.name, row.language, row.timezone, row.weight_unit, row.invented)
