"""Whether the database holds the demo, and which."""

from dataclasses import dataclass
from datetime import datetime

from pupilage.storage.models import AuditEntry, Workspace


@dataclass(frozen=True)
class DemoMark:
    """When the demo was made, in whose time zone, and from which seed."""

    made_at: datetime
    timezone: str
    seed: int


def find_demo() -> DemoMark | None:
    """Return the mark of the demo in this database, or None while there is none. Who may: the command line."""
    entry = AuditEntry.objects.filter(action="load-demo").order_by("id").last()
    if entry is None:
        return None
    workspace = Workspace.objects.get(id=entry.workspace_id)
    return DemoMark(entry.at, workspace.timezone, int(entry.detail["seed"]))
