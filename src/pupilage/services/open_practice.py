"""The practice of a dog that lives in the household: a stay without an end, so that its record counts for its goals."""

from datetime import datetime, timedelta

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.services.auditing import audit
from pupilage.storage.models import Dog, Programme
from pupilage.storage.queries.programmes import find_programme_of

AHEAD = timedelta(weeks=8)
"""How far ahead its decisions look; moved on whenever less than half of it is left."""


def open_practice(actor: Actor, dog: Dog, *, now: datetime) -> Programme:
    """Return the stay of a pup, or the practice of a resident dog, which is made where there is none.

    Who may: whoever may write. Idempotent; a practice that ends soon is made longer.
    Raises InvalidInput for a pup without a stay.
    """
    actor.require_write()
    found = find_programme_of(actor, dog.id)
    if not dog.is_resident:
        if found is None:
            raise InvalidInput.of("beside", "{dog} has no stay yet; begin one first.", dog=dog.name)
        return found
    today = local_day(now, actor.zone)
    if found is not None and found.handover_on - today > AHEAD / 2:
        return found
    with transaction.atomic():
        if found is None:
            found = Programme.objects.create(
                workspace_id=actor.workspace_id, dog=dog, arrival_on=today, handover_on=today + AHEAD
            )
        else:
            found.handover_on = today + AHEAD
            found.save(update_fields=["handover_on"])
        audit(actor, "open-practice", str(found.id), now=now)
    return found
