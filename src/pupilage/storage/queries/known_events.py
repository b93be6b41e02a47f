"""Which of many events are in the log already."""

from collections.abc import Sequence
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.storage.models import SessionEvent

IDS_A_QUERY = 500


def known_event_ids(actor: Actor, event_ids: Sequence[UUID]) -> set[UUID]:
    """Return those of the ids that the actor's workspace has in its log, whatever became of the event since."""
    known: set[UUID] = set()
    for first in range(0, len(event_ids), IDS_A_QUERY):
        rows = SessionEvent.objects.filter(
            workspace_id=actor.workspace_id, event_id__in=event_ids[first : first + IDS_A_QUERY]
        )
        known.update(rows.values_list("event_id", flat=True))
    return known
