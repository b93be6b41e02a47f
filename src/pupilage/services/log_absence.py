"""Writing down an absence, taking one back, and hearing a recording of one."""

from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import day_bounds
from pupilage.core.errors import Conflict, InvalidInput, NotFound
from pupilage.core.incidents.absences import AbsenceRecord, problems_of
from pupilage.core.incidents.bouts import Heard, with_heard
from pupilage.services.auditing import audit
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage.models import Absence, Dog
from pupilage.storage.queries.absences import absence_of, columns_of, list_absences
from pupilage.storage.queries.dogs import dog_writable_by


def log_absence(actor: Actor, dog_id: UUID, record: AbsenceRecord, *, now: datetime) -> UUID:
    """Write one absence and return its id. Who may: whoever may write. Idempotent by the record's id.

    Raises InvalidInput for what cannot be (`absences.problems_of`), all at once.
    """
    dog = dog_writable_by(actor, dog_id)
    absence_id = UUID(record.id)
    if Absence.objects.filter(workspace_id=actor.workspace_id, id=absence_id).exists():
        return absence_id
    problems = problems_of(
        record, list_absences(dog), now=now + CLOCK_SLACK, arrived_at=_arrived_at(actor, dog), zone=actor.zone
    )
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        _, made = Absence.objects.get_or_create(
            workspace_id=actor.workspace_id, id=absence_id, defaults={"dog": dog, **columns_of(record)}
        )
        if made:
            audit(actor, "log-absence", str(absence_id), now=now, away_s=record.away_s, signs=len(record.signs))
    return absence_id


def require_absences_writable(actor: Actor, dog_id: UUID) -> None:
    """Raise Forbidden for a reader and NotFound for an unknown dog, before anything is made of what was sent."""
    dog_writable_by(actor, dog_id)


def take_absence_back(actor: Actor, absence_id: UUID, *, now: datetime) -> UUID:
    """Take an absence out of every reading; the row stays. Returns the dog's id. Idempotent."""
    row = _row(actor, absence_id)
    with transaction.atomic():
        if Absence.objects.filter(id=row.id, taken_back_at=None).update(taken_back_at=now):
            audit(actor, "take-absence-back", str(row.id), now=now)
    return row.dog_id


def accept_bouts(actor: Actor, absence_id: UUID, heard: Heard, *, now: datetime) -> UUID:
    """Let the bouts of a recording become signs of an absence, and return the id of the row that now stands.

    Who may: whoever may write. The absence is replaced by one with the signs beside its own; the old row stays, taken
    back. Idempotent: the same recording twice gives the same row. Raises NotFound; InvalidInput for bouts that cannot
    be; Conflict where the absence was taken back or replaced by something else.
    """
    row = _row(actor, absence_id)
    record = absence_of(row)
    found = with_heard(record, heard)
    if found == record:
        return row.id
    new_id = uuid5(row.id, repr(heard))
    if Absence.objects.filter(workspace_id=actor.workspace_id, id=new_id).exists():
        return new_id
    with transaction.atomic():
        if not Absence.objects.filter(id=row.id, taken_back_at=None).update(taken_back_at=now):
            raise Conflict("This absence has been taken back or replaced meanwhile; choose the one that stands.")
        columns = columns_of(found)
        Absence.objects.create(
            workspace_id=actor.workspace_id, id=new_id, dog_id=row.dog_id, replaces_id=row.id, **columns
        )
        audit(actor, "accept-bouts", str(new_id), now=now, replaces=str(row.id), bouts=len(heard.bouts))
    return new_id


def _row(actor: Actor, absence_id: UUID) -> Absence:
    actor.require_write()
    row = Absence.objects.filter(workspace_id=actor.workspace_id, id=absence_id).first()
    if row is None:
        raise NotFound("There is no such absence; it may have been written in another workspace.")
    return row


def _arrived_at(actor: Actor, dog: Dog) -> datetime | None:
    arrival = dog.programmes.order_by("arrival_on").values_list("arrival_on", flat=True).first()
    return None if arrival is None else day_bounds(arrival, actor.zone)[0]
