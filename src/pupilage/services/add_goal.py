"""Making one behaviour a goal of a stay, beside those that stand."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_from
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Goal
from pupilage.storage.queries.programmes import programme_writable_by


def add_goal(actor: Actor, programme_id: UUID, behaviour: str, *, now: datetime) -> None:
    """Make a behaviour a goal at the step and weight of the catalogue; a goal that stands stays as it is.

    Who may: whoever may write. Idempotent. Raises InvalidInput for a behaviour that is not in the catalogue.
    """
    programme = programme_writable_by(actor, programme_id)
    found = load_catalogue().find_behaviour(behaviour)
    if found is None:
        raise InvalidInput.of("behaviour", "“{key}” is not in the catalogue; choose one from it.", key=behaviour)
    with transaction.atomic():
        if programme.goals.filter(behaviour=behaviour, dropped_at=None).exists():
            return
        Goal.objects.update_or_create(
            programme=programme,
            behaviour=behaviour,
            defaults={
                "workspace_id": actor.workspace_id,
                "step": found.target,
                "weight": found.weight,
                "dropped_at": None,
            },
        )
        touch_plans_from(actor, programme, now)
        audit(actor, "add-goal", str(programme.id), now=now, behaviour=behaviour)
