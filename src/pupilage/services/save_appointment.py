"""The trainer's appointments: writing one, changing it, deleting it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import day_bounds, local_day, require_aware
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_between
from pupilage.storage.models import Appointment, Programme
from pupilage.storage.queries.programmes import programme_writable_by

LONGEST = timedelta(days=14)
MAX_WORDS = 120


@dataclass(frozen=True)
class NewAppointment:
    """When the trainer is busy. comes_along: the pup is there too; whole_day: a day off, from midnight to midnight.

    covered: somebody else takes the pup out meanwhile.
    id: of the one that is changed, None for a new one.
    """

    starts_at: datetime
    ends_at: datetime
    words: str = ""
    comes_along: bool = False
    covered: bool = False
    whole_day: bool = False
    id: UUID | None = None


def save_appointment(actor: Actor, programme_id: UUID, given: NewAppointment, *, now: datetime) -> UUID:
    """Write an appointment and return its id. Who may: whoever may write.

    Raises InvalidInput for one that ends before it starts or that meets another, NotFound for an unknown id.
    """
    programme = programme_writable_by(actor, programme_id)
    starts_at, ends_at = _bounds(actor, given)
    with transaction.atomic():
        row = _row(programme, given.id)
        problems = _problems(programme, given, starts_at, ends_at, besides=row)
        if problems:
            raise InvalidInput(problems)
        if row is not None:
            touch_plans_between(actor, programme, row.starts_at, row.ends_at)
        row = row or Appointment(workspace_id=actor.workspace_id, programme=programme)
        row.starts_at, row.ends_at = starts_at, ends_at
        row.words, row.whole_day = given.words.strip(), given.whole_day
        row.comes_along, row.covered = given.comes_along, given.covered
        row.save()
        touch_plans_between(actor, programme, starts_at, ends_at)
        audit(actor, "save-appointment", str(row.id), now=now)
    return row.id


def delete_appointment(actor: Actor, programme_id: UUID, appointment_id: UUID, *, now: datetime) -> None:
    """Delete an appointment. Who may: whoever may write. Idempotent. Raises NotFound."""
    programme = programme_writable_by(actor, programme_id)
    with transaction.atomic():
        row = Appointment.objects.filter(programme=programme, id=appointment_id).first()
        if row is None:
            raise NotFound("There is no such appointment here; it may have been another stay's.")
        if row.deleted_at is not None:
            return
        row.deleted_at = now
        row.save(update_fields=["deleted_at"])
        touch_plans_between(actor, programme, row.starts_at, row.ends_at)
        audit(actor, "delete-appointment", str(row.id), now=now)


def _bounds(actor: Actor, given: NewAppointment) -> tuple[datetime, datetime]:
    starts_at, ends_at = require_aware(given.starts_at, "starts_at"), require_aware(given.ends_at, "ends_at")
    if given.whole_day and starts_at <= ends_at:
        last = ends_at - timedelta(microseconds=1) if ends_at > starts_at else ends_at
        return day_bounds(local_day(starts_at, actor.zone), actor.zone)[0], day_bounds(
            local_day(last, actor.zone), actor.zone
        )[1]
    return starts_at, ends_at


def _row(programme: Programme, appointment_id: UUID | None) -> Appointment | None:
    if appointment_id is None:
        return None
    row = Appointment.objects.filter(programme=programme, id=appointment_id, deleted_at=None).first()
    if row is None:
        raise NotFound("This appointment has been deleted, perhaps on another phone; write it anew.")
    return row


def _problems(
    programme: Programme, given: NewAppointment, starts_at: datetime, ends_at: datetime, *, besides: Appointment | None
) -> list[Problem]:
    if ends_at <= starts_at:
        return [Problem("ends_at", "The appointment ends before it starts; give a later end.")]
    problems = []
    if ends_at - starts_at > LONGEST:
        problems.append(Problem("ends_at", "An appointment of more than 14 days; check the dates."))
    if len(given.words) > MAX_WORDS:
        problems.append(Problem("words", "{n} letters are too many; give up to 120.", n=len(given.words)))
    others = Appointment.objects.filter(
        programme=programme, deleted_at=None, whole_day=given.whole_day, starts_at__lt=ends_at, ends_at__gt=starts_at
    )
    if besides is not None:
        others = others.exclude(id=besides.id)
    problems += [
        Problem(
            "starts_at",
            "You have “{words}” at that time; nobody can be in two places. Move one of them, or join them.",
            words=other.words or "…",
        )
        for other in others[:1]
    ]
    return problems
