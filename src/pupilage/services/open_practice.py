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


def find_practice(actor: Actor, dog: Dog, *, now: datetime) -> Programme | None:
    """Return the stay of a pup, or the practice of a resident dog as `open_practice` would leave it; writes nothing.

    A practice has the id of its dog: phones name it before it is written, and all of them mean the same one.
    None for a pup without a stay. Who may: whoever may read.
    """
    found = find_programme_of(actor, dog.id)
    if not dog.is_resident:
        return found
    today = local_day(now, actor.zone)
    if found is None:
        return Programme(
            id=dog.id, workspace_id=actor.workspace_id, dog=dog, arrival_on=today, handover_on=today + AHEAD
        )
    if found.handover_on - today <= AHEAD / 2:
        found.handover_on = today + AHEAD
    return found


def open_practice(actor: Actor, dog: Dog, *, now: datetime) -> Programme:
    """Return the stay of a pup, or the practice of a resident dog, which is made where there is none.

    Who may: whoever may write. Idempotent; a practice that ends soon is made longer.
    Raises InvalidInput for a pup without a stay.
    """
    actor.require_write()
    wanted = find_practice(actor, dog, now=now)
    if wanted is None:
        raise InvalidInput.of("beside", "{dog} has no stay yet; begin one first.", dog=dog.name)
    with transaction.atomic():
        frame = {"workspace_id": actor.workspace_id, "dog": dog, "arrival_on": wanted.arrival_on}
        found, made = Programme.objects.get_or_create(
            id=wanted.id, defaults=frame | {"handover_on": wanted.handover_on}
        )
        if made or found.handover_on != wanted.handover_on:
            found.handover_on = wanted.handover_on
            found.save(update_fields=["handover_on"])
            audit(actor, "open-practice", str(found.id), now=now)
    return found
