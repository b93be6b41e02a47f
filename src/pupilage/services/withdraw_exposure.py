"""Taking an entry of the log of exposures back."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.exposures.log import EntryKind, Exposure, VetWord, Withdrawal
from pupilage.core.errors import NotFound
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.storage.models import ExposureEvent
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.exposures import log_entry_of


def withdraw_exposure(actor: Actor, dog_id: UUID, event_id: UUID, *, now: datetime) -> Exposure | VetWord:
    """Take a dog's meeting or veterinarian's word back by another entry, and return it.

    Who may: whoever may write. Idempotent: taken back twice is taken back once. The new entry carries the time of the
    one it takes back. Raises NotFound for an entry that is not this dog's, or that itself takes something back.
    """
    dog = dog_writable_by(actor, dog_id)
    rows = ExposureEvent.objects.filter(workspace_id=actor.workspace_id, dog=dog, event_id=event_id)
    row = rows.first()
    entry = None if row is None else log_entry_of(row)
    if row is None or entry is None or isinstance(entry, Withdrawal):
        raise NotFound("There is no such entry among this dog's exposures; look at its list.")
    with transaction.atomic():
        _, made = ExposureEvent.objects.get_or_create(
            workspace_id=actor.workspace_id,
            withdraws=event_id,
            defaults={
                "event_id": uuid4(),
                "dog": dog,
                "kind": EntryKind.WITHDRAWN.value,
                "at": row.at,
                "tz_offset_min": row.tz_offset_min,
                "received_at": now,
            },
        )
        if made:
            touch_day_plans(actor, dog.id, at=now, now=now)
            audit(actor, "withdraw-exposure", str(event_id), now=now)
    return entry
