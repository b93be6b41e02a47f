"""Whose events a phone's queue holds."""

from pupilage.core.access import Actor
from pupilage.storage.models import Installation


def read_owner(actor: Actor) -> str:
    """Return a name for this person in this workspace of this database.

    A phone keeps it beside its queue: after a change of account, or a restored backup, the queue is not pushed.
    """
    installation, _ = Installation.objects.get_or_create(id=1)
    return f"{installation.database_id}/{actor.workspace_id}/{actor.user_id}"
