"""Writing down what the veterinarian said yes to."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import EntryKind
from pupilage.core.clock import offset_min
from pupilage.services.auditing import audit
from pupilage.storage.models import ExposureEvent
from pupilage.storage.queries.dogs import dog_writable_by


def note_vet_word(actor: Actor, dog_id: UUID, topic: VetTopic, *, now: datetime, event_id: UUID | None = None) -> UUID:
    """Write down that the veterinarian said yes to a topic for this dog, and return the entry's id.

    Who may: whoever may write. Idempotent by event_id. It is taken back as a meeting is (`withdraw_exposure`).
    """
    dog = dog_writable_by(actor, dog_id)
    with transaction.atomic():
        row, made = ExposureEvent.objects.get_or_create(
            workspace_id=actor.workspace_id,
            event_id=event_id or uuid4(),
            defaults={
                "dog": dog,
                "kind": EntryKind.VET_WORD.value,
                "topic": topic.value,
                "at": now,
                "tz_offset_min": offset_min(now, actor.zone),
                "received_at": now,
            },
        )
        if made:
            audit(actor, "note-vet-word", str(row.event_id), now=now, topic=topic.value)
    return row.event_id
