"""What the settings page shows."""

from dataclasses import dataclass, fields

from pupilage.core.access import Actor
from pupilage.storage.models import Workspace


@dataclass(frozen=True)
class WorkspacePage:
    """A workspace: its name, how things are shown, whom to call, and whether all in it is invented."""

    name: str
    language: str
    timezone: str
    weight_unit: str
    vet_phone: str
    poison_phone: str
    invented: bool


def read_workspace(actor: Actor) -> WorkspacePage:
    """Return the actor's workspace. Who may: whoever may read."""
    row = Workspace.objects.get(id=actor.workspace_id)
    return WorkspacePage(**{field.name: getattr(row, field.name) for field in fields(WorkspacePage)})
