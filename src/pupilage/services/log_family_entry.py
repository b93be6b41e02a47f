"""What a family writes down by its link, and what it tells the trainer on the telephone: kept apart from our log."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, NotFound, Problem
from pupilage.core.handover.family_log import EntryKind, OutingWord
from pupilage.core.handover.follow_up import WEEKS
from pupilage.services.auditing import audit
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, FamilyEntry, Programme
from pupilage.storage.queries.family import page_of, stay_of
from pupilage.storage.queries.programmes import list_goals, programme_writable_by

MOST_NOTE = 2000
MOST_TRIES = 20
MOST_A_DAY = 300
"""Entries of one link in 24 hours: more than any family taps, and too few to fill a disk."""


@dataclass(frozen=True)
class FamilyTap:
    """What is to be written down. n_met, n: tries of a cue; entry_id: chosen by the page, so that twice is once."""

    kind: EntryKind
    at: datetime
    subject: str = ""
    n_met: int = 0
    n: int = 0
    week: int | None = None
    note: str = ""
    entry_id: UUID | None = None


def log_family_entry(guest: FamilyGuest, tap: FamilyTap, *, now: datetime) -> list[UUID]:
    """Write what a family tapped, as theirs; return the ids. Idempotent by entry_id: the first of them.

    Who may: whoever has a link that allows it. Several tries of a cue are as many entries. Raises Forbidden,
    InvalidInput for a behaviour that is none of theirs or a time that cannot be, Conflict beyond MOST_A_DAY.
    """
    guest.require_write()
    programme = stay_of(guest)
    _require_tap(programme, tap, now)
    day = FamilyEntry.objects.filter(link_id=guest.link_id, received_at__gt=now - timedelta(days=1)).count()
    if day + max(1, tap.n) > MOST_A_DAY:
        raise Conflict("{most} entries in a day are enough; call the trainer instead.", most=MOST_A_DAY)
    with transaction.atomic():
        ids = _write(programme, tap, now=now, link_id=guest.link_id)
        if ids:
            _audit_guest(guest, tap, str(ids[0]), now)
    return ids


def log_told_entry(actor: Actor, programme_id: UUID, tap: FamilyTap, *, now: datetime) -> list[UUID]:
    """Write what a family told the trainer, marked as told. Idempotent by entry_id. Who may: whoever may write."""
    programme = programme_writable_by(actor, programme_id)
    _require_tap(programme, tap, now)
    with transaction.atomic():
        ids = _write(programme, tap, now=now, told_to=actor.user_id)
        if ids:
            audit(actor, "log-told-entry", str(ids[0]), now=now, kind=tap.kind.value)
    return ids


def take_family_entry_back(guest: FamilyGuest, entry_id: UUID, *, now: datetime) -> None:
    """Take an entry back by another one; only one that came by the same link. Idempotent. Raises NotFound."""
    guest.require_write()
    own = FamilyEntry.objects.filter(workspace_id=guest.workspace_id, link_id=guest.link_id)
    row = own.filter(entry_id=entry_id, withdraws=None).first()
    if row is None:
        raise NotFound("There is no such entry of yours; it may be gone already.")
    with transaction.atomic():
        if own.filter(withdraws=entry_id).exists():
            return
        FamilyEntry.objects.create(
            workspace_id=guest.workspace_id, entry_id=uuid4(), programme_id=row.programme_id, link_id=guest.link_id,
            kind=EntryKind.WITHDRAWN.value, withdraws=entry_id, at=row.at, received_at=now,
        )  # fmt: skip
        _audit_guest(guest, FamilyTap(EntryKind.WITHDRAWN, now), str(entry_id), now)


def shown_goals(programme: Programme) -> dict[str, str]:
    """Return the goals that the trainer shows this family: the behaviour's key and its step, the weightiest first."""
    hidden = set(page_of(programme).behaviours_left_out)
    return {goal.behaviour: goal.step for goal in list_goals(programme) if goal.behaviour not in hidden}


def _write(
    programme: Programme, tap: FamilyTap, *, now: datetime, link_id: UUID | None = None, told_to: UUID | None = None
) -> list[UUID]:
    """Write the rows inside the caller's transaction; nothing where the first one is there already."""
    first = tap.entry_id or uuid4()
    known = FamilyEntry.objects.filter(workspace_id=programme.workspace_id, entry_id=first).first()
    if known is not None:
        if (known.programme_id, known.link_id) != (programme.id, link_id):
            raise InvalidInput.of("entry", "This was written down for another pup; open the page again.")
        return []
    tries: Sequence[bool | None] = [i < tap.n_met for i in range(tap.n)] if tap.kind is EntryKind.CUE else [None]
    ids = [first, *(uuid4() for _ in tries[1:])]
    for entry_id, met in zip(ids, tries, strict=True):
        FamilyEntry.objects.create(
            workspace_id=programme.workspace_id, entry_id=entry_id, programme=programme, link_id=link_id,
            told_to=told_to, kind=tap.kind.value, subject=tap.subject, met=met, week=tap.week,
            note=tap.note.strip() if entry_id == first else "", at=tap.at, received_at=now,
        )  # fmt: skip
    return ids


def _audit_guest(guest: FamilyGuest, tap: FamilyTap, subject: str, now: datetime) -> None:
    """Write who did it: no person of the workspace, but a link."""
    AuditEntry.objects.create(
        workspace_id=guest.workspace_id, user_id=None, action="log-family-entry", subject=subject,
        detail={"link": str(guest.link_id), "kind": tap.kind.value}, at=now,
    )  # fmt: skip


def _require_tap(programme: Programme, tap: FamilyTap, now: datetime) -> None:
    problems = []
    at = require_aware(tap.at)
    if at > now + CLOCK_SLACK:
        problems.append(Problem("at", "This time is in the future; write it down once it has happened."))
    if at.date() < programme.arrival_on - timedelta(days=1):
        problems.append(Problem("at", "This is before the pup came; check the day."))
    if len(tap.note) > MOST_NOTE:
        problems.append(Problem("note", "The note has {most} letters at most.", most=MOST_NOTE))
    if not _fits(programme, tap):
        problems.append(Problem("subject", "Choose what it was from the list, please."))
    if tap.kind is EntryKind.CUE and not (1 <= tap.n <= MOST_TRIES and 0 <= tap.n_met <= tap.n):
        problems.append(Problem("n", "Say how many of 1 to {most} tries worked.", most=MOST_TRIES))
    if tap.week is not None and tap.week not in WEEKS:
        problems.append(Problem("subject", "Choose what it was from the list, please."))
    if problems:
        raise InvalidInput(problems)


def _fits(programme: Programme, tap: FamilyTap) -> bool:
    """Say whether the subject goes with the kind, and a cue is one of this stay that the family is shown."""
    match tap.kind:
        case EntryKind.OUTING:
            return tap.subject in set(OutingWord)
        case EntryKind.INCIDENT:
            return load_catalogue().find_unwanted(tap.subject) is not None
        case EntryKind.CUE:
            return tap.subject in shown_goals(programme)
        case EntryKind.CALL_ME:
            return tap.subject == ""
    return False
