"""Writing down a weighing."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.food.condition import require_condition
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.units import require_weight_kg
from pupilage.services.auditing import audit
from pupilage.storage.models import Weight
from pupilage.storage.queries.dogs import dog_writable_by


def log_weight(
    actor: Actor, dog_id: UUID, weight_kg: float, *, at: datetime, now: datetime, body_condition: int | None = None
) -> None:
    """Write one weighing in kilograms. Who may: whoever may write. The same weighing twice is stored once.

    body_condition: 1 to 9, None where it was not judged; a weighing that is written again with one gets it.
    Raises InvalidInput for a weight no dog has, a score that is none, and for a time in the future.
    """
    dog = dog_writable_by(actor, dog_id)
    require_weight_kg(weight_kg)
    require_condition(body_condition, "body_condition")
    if require_aware(at) > now:
        raise InvalidInput.of("at", "This time is in the future; weigh first.")
    with transaction.atomic():
        row, made = Weight.objects.get_or_create(
            workspace_id=actor.workspace_id,
            dog=dog,
            at=at,
            weight_kg=weight_kg,
            defaults={"body_condition": body_condition},
        )
        scored = not made and body_condition is not None and row.body_condition != body_condition
        if scored:
            row.body_condition = body_condition
            row.save(update_fields=["body_condition"])
        if made or scored:
            audit(actor, "log-weight", str(dog.id), now=now, weight_kg=weight_kg, body_condition=body_condition)
