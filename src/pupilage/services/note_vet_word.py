"""Writing down what the veterinarian said yes to."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import EntryKind
from pupilage.core.clock import offset_min, require_aware
from pupilage.core.errors import InvalidInput
from pupilage.services.auditing import audit
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage.models import ExposureEvent
from pupilage.storage.queries.dogs import dog_writable_by


def note_vet_word(
    actor: Actor,
    dog_id: UUID,
    topic: VetTopic,
    *,
    now: datetime,
    at: datetime | None = None,
    event_id: UUID | None = None,
) -> UUID:
    """Write down that the veterinarian said yes to a topic for this dog, and return the entry's id.

    Who may: whoever may write. Idempotent by event_id. It is taken back as a meeting is (`withdraw_exposure`).
    at: when it was said, left out: now. Raises InvalidInput for a time in the future.
    """
    dog = dog_writable_by(actor, dog_id)
    said_at = require_aware(at or now)
    if said_at > now + CLOCK_SLACK:
        raise InvalidInput.of("at", "This time is in the future; write it down once it has been said.")
    entry_id = event_id or uuid4()
    with transaction.atomic():
        _, made = ExposureEvent.objects.get_or_create(
            workspace_id=actor.workspace_id,
            event_id=entry_id,
            defaults={
                "dog": dog,
                "kind": EntryKind.VET_WORD.value,
                "topic": topic.value,
                "at": said_at,
                "tz_offset_min": offset_min(said_at, actor.zone),
                "received_at": now,
            },
        )
        if made:
            audit(actor, "note-vet-word", str(entry_id), now=now, topic=topic.value)
    return entry_id
