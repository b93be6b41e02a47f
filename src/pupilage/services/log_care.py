"""Writing the care log: outings, meals, naps, crate, play."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.events import DETAILS_OF, CareDetail, CareEvent, CareKind
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.storage.models import CareEvent as CareRow
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import care_event_of, dog_writable_by

MAX_MEAL_G = 3000.0
CLOCK_SLACK = timedelta(minutes=2)


@dataclass(frozen=True)
class CareEntry:
    """What is to be written down. event_id: chosen by the device, so that writing it twice stores it once."""

    kind: CareKind
    at: datetime
    detail: CareDetail = CareDetail.PLAIN
    amount_g: float | None = None
    note: str = ""
    event_id: UUID | None = None
    tz_offset_min: int = 0


def log_care(actor: Actor, dog_id: UUID, entry: CareEntry, *, now: datetime) -> CareEvent:
    """Write one entry and return it. Who may: whoever may write. Idempotent by event_id.

    Raises InvalidInput for a time in the future, a word that does not go with the kind, or an impossible amount.
    """
    dog = dog_writable_by(actor, dog_id)
    with transaction.atomic():
        row, made = add_entry(actor, dog, entry, now=now)
        if made:
            audit(actor, "log-care", str(row.event_id), now=now, kind=entry.kind.value)
    return care_event_of(row)


def add_entry(actor: Actor, dog: Dog, entry: CareEntry, *, now: datetime) -> tuple[CareRow, bool]:
    """Write an entry inside the caller's transaction; return its row and whether it is new. Raises as `log_care`.

    The day's timetable is told that it knows less than the log.
    """
    _require_entry(entry, now)
    row, made = CareRow.objects.get_or_create(
        workspace_id=actor.workspace_id,
        event_id=entry.event_id or uuid4(),
        defaults={
            "dog": dog,
            "kind": entry.kind.value,
            "detail": entry.detail.value,
            "amount_g": entry.amount_g,
            "note": entry.note,
            "at": entry.at,
            "tz_offset_min": entry.tz_offset_min,
            "received_at": now,
        },
    )
    if made:
        touch_day_plans(actor, dog.id, at=entry.at, now=now)
    return row, made


def withdraw_care(actor: Actor, event_id: UUID, *, now: datetime) -> None:
    """Take an entry of the care log back by another entry. Idempotent.

    The new entry carries the time of the one it takes back, so that every reading of that stretch sees both.
    """
    actor.require_write()
    row = CareRow.objects.filter(workspace_id=actor.workspace_id, event_id=event_id).first()
    if row is None:
        raise NotFound("There is no such entry in the care log; it may have been written in another workspace.")
    with transaction.atomic():
        if take_back_entry(actor, row, now=now):
            audit(actor, "withdraw-care", str(event_id), now=now)


def take_back_entry(actor: Actor, row: CareRow, *, now: datetime) -> bool:
    """Take an entry back inside the caller's transaction; return whether it still stood."""
    if CareRow.objects.filter(workspace_id=actor.workspace_id, withdraws=row.event_id).exists():
        return False
    CareRow.objects.create(
        workspace_id=actor.workspace_id,
        event_id=uuid4(),
        dog_id=row.dog_id,
        kind=CareKind.WITHDRAWN.value,
        withdraws=row.event_id,
        at=row.at,
        tz_offset_min=row.tz_offset_min,
        received_at=now,
    )
    touch_day_plans(actor, row.dog_id, at=row.at, now=now)
    return True


def _require_entry(entry: CareEntry, now: datetime) -> None:
    problems = []
    if require_aware(entry.at) > now + CLOCK_SLACK:
        problems.append(Problem("at", "This time is in the future; write it down once it has happened."))
    if entry.kind is CareKind.WITHDRAWN or entry.detail not in DETAILS_OF[entry.kind]:
        problems.append(
            Problem("detail", "“{detail}” does not go with “{kind}”.", detail=entry.detail, kind=entry.kind)
        )
    if entry.amount_g is not None and not 0 < entry.amount_g <= MAX_MEAL_G:
        problems.append(
            Problem(
                "amount_g",
                "{n:g} g is no meal; give grams between 1 and {most:g}.",
                n=entry.amount_g,
                most=MAX_MEAL_G,
            )
        )
    if problems:
        raise InvalidInput(problems)
