"""Writing down that practice alone may go on after panic."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.services.auditing import audit
from pupilage.storage.models import AloneAdvice
from pupilage.storage.queries.dogs import dog_writable_by


def note_alone_advice(actor: Actor, dog_id: UUID, words: str, *, now: datetime, advice_id: UUID | None = None) -> UUID:
    """Write down what a veterinarian or veterinary behaviourist advised; practice then begins anew, at the door.

    Who may: whoever may write. Idempotent by advice_id. Raises InvalidInput without words.
    """
    dog = dog_writable_by(actor, dog_id)
    if not words.strip():
        raise InvalidInput.of("words", "Write who said so and what they advised: the next absence rests on it.")
    with transaction.atomic():
        row, made = AloneAdvice.objects.get_or_create(
            workspace_id=actor.workspace_id,
            id=advice_id or uuid4(),
            defaults={"dog": dog, "at": now, "words": words.strip()},
        )
        if made:
            audit(actor, "note-alone-advice", str(row.id), now=now)
    return row.id
