"""Dogs and what is written down about them, scoped by who asks."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareEvent, CareKind, standing
from pupilage.core.errors import NotFound
from pupilage.storage.models import CareEvent as CareRow
from pupilage.storage.models import Dog, Reinforcer


def dogs_readable_by(actor: Actor) -> QuerySet[Dog]:
    """Return the dogs of the actor's workspace."""
    return Dog.objects.filter(workspace_id=actor.workspace_id).select_related("household").order_by("name", "id")


def dog_readable_by(actor: Actor, dog_id: UUID) -> Dog:
    """Return one dog. Raises NotFound for an unknown one and for another workspace's."""
    dog = dogs_readable_by(actor).filter(id=dog_id).first()
    if dog is None:
        raise NotFound("There is no such dog here; choose one from the list.")
    return dog


def dog_writable_by(actor: Actor, dog_id: UUID) -> Dog:
    """Return one dog to write about. Raises Forbidden for a reader, NotFound as above."""
    actor.require_write()
    return dog_readable_by(actor, dog_id)


def list_care_events(dog: Dog, *, since: datetime, until: datetime | None = None) -> list[CareEvent]:
    """Return the care events that stand, in time order. One query."""
    rows = CareRow.objects.filter(dog=dog, workspace_id=dog.workspace_id, at__gte=since)
    if until is not None:
        rows = rows.filter(at__lt=until)
    fields = ("event_id", "kind", "at", "detail", "amount_g", "note", "withdraws")
    return standing([_care_event(*row) for row in rows.order_by("at", "id").values_list(*fields)])


def _care_event(
    event_id: UUID, kind: str, at: datetime, detail: str, amount_g: float | None, note: str, withdraws: UUID | None
) -> CareEvent:
    taken_back = None if withdraws is None else str(withdraws)
    return CareEvent(str(event_id), CareKind(kind), at, CareDetail(detail), amount_g, note, taken_back)


def care_event_of(row: CareRow) -> CareEvent:
    """Return a row of the care log as core's type."""
    return _care_event(row.event_id, row.kind, row.at, row.detail, row.amount_g, row.note, row.withdraws)


def list_reinforcers(actor: Actor, *, retired: bool = False) -> list[Reinforcer]:
    """Return the reinforcers in use, with `retired` those of old too; those out of the ration first."""
    rows = Reinforcer.objects.filter(workspace_id=actor.workspace_id)
    if not retired:
        rows = rows.filter(retired=False)
    return list(rows.order_by("-from_ration", "name"))
