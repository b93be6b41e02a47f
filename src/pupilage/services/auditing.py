"""The one audit row that each use case writes."""

from datetime import datetime
from typing import Any

from pupilage.core.access import Actor
from pupilage.storage.models import AuditEntry


def audit(actor: Actor, action: str, subject: str, *, now: datetime, **detail: Any) -> None:
    """Write who did what to what, inside the caller's transaction."""
    AuditEntry.objects.create(
        workspace_id=actor.workspace_id,
        user_id=actor.user_id,
        action=action,
        subject=subject[:120],
        detail=detail,
        at=now,
    )
