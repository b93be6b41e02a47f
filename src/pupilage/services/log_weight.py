"""Writing down a weighing."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.units import require_weight_kg
from pupilage.services.auditing import audit
from pupilage.storage.models import Weight
from pupilage.storage.queries.dogs import dog_writable_by


def log_weight(actor: Actor, dog_id: UUID, weight_kg: float, *, at: datetime, now: datetime) -> None:
    """Write one weighing in kilograms. Who may: whoever may write. The same weighing twice is stored once.

    Raises InvalidInput for a weight no dog has, and for a time in the future.
    """
    dog = dog_writable_by(actor, dog_id)
    require_weight_kg(weight_kg)
    if require_aware(at) > now:
        raise InvalidInput.of("at", "This time is in the future; weigh first.")
    with transaction.atomic():
        _, made = Weight.objects.get_or_create(workspace_id=actor.workspace_id, dog=dog, at=at, weight_kg=weight_kg)
        if made:
            audit(actor, "log-weight", str(dog.id), now=now, weight_kg=weight_kg)
