"""Keeping what another person wrote down of a session or a recording."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, InvalidInput, Problem
from pupilage.core.evaluation.codings import Entry, EntryKind, Mark, mark_problems
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.auditing import audit
from pupilage.storage.models import Coding, CodingEntry
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.sessions import session_readable_by

MAX_ENTRIES_A_CALL = 500


@dataclass(frozen=True)
class Subject:
    """What is coded: a session, or a recording of a dog by its name."""

    session_id: UUID | None = None
    dog_id: UUID | None = None
    recording: str = ""


@dataclass(frozen=True)
class CodingGiven:
    """Entries of one coding. coding_id and the entries' ids: chosen by the device. observer: who coded."""

    coding_id: UUID
    observer: str
    entries: tuple[Entry, ...]


def keep_coding(actor: Actor, subject: Subject, given: CodingGiven, *, now: datetime) -> tuple[str, ...]:
    """Add entries to a coding, which its first ones make, and return the ids that are stored now.

    Who may: whoever may write. Idempotent by the entries' ids; any order and split give the same coding.
    Raises InvalidInput with all problems at once; NotFound; Conflict for a coding_id that stands for something else.
    """
    actor.require_write()
    session = session_readable_by(actor, subject.session_id) if subject.session_id else None
    dog_id = session.programme.dog_id if session else dog_readable_by(actor, subject.dog_id or UUID(int=0)).id
    problems = list(_problems(subject, given))
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        made = {
            "workspace_id": actor.workspace_id,
            "dog_id": dog_id,
            "session_id": subject.session_id,
            "recording": subject.recording.strip(),
        }
        coding, is_new = Coding.objects.get_or_create(
            id=given.coding_id,
            defaults=made | {"observer": given.observer.strip(), "made_by": actor.user_id, "made_at": now},
        )
        if any(getattr(coding, name) != value for name, value in made.items()):
            raise Conflict("This coding's id belongs to the coding of something else; begin a new one.")
        ids = [UUID(entry.id) for entry in given.entries]
        known = _known(actor, coding, ids)
        _write(coding, [entry for entry in given.entries if UUID(entry.id) not in known], now)
        if is_new:
            audit(actor, "keep-coding", str(coding.id), now=now, session=str(subject.session_id or ""))
    return tuple(str(one) for one in ids)


def _known(actor: Actor, coding: Coding, ids: list[UUID]) -> set[UUID]:
    rows = CodingEntry.objects.filter(workspace_id=actor.workspace_id, entry_id__in=ids)
    found = dict(rows.values_list("entry_id", "coding_id"))
    if any(coding_id != coding.id for coding_id in found.values()):
        raise Conflict("An entry's id belongs to another coding; give each entry a new one.")
    return set(found)


def _write(coding: Coding, entries: list[Entry], now: datetime) -> None:
    CodingEntry.objects.bulk_create(
        CodingEntry(
            workspace_id=coding.workspace_id,
            coding=coding,
            entry_id=UUID(entry.id),
            kind=entry.kind.value,
            time_s=entry.time_s,
            code=entry.code,
            withdraws=UUID(entry.withdraws) if entry.withdraws else None,
            received_at=now,
        )
        for entry in {entry.id: entry for entry in entries}.values()
    )


def _problems(subject: Subject, given: CodingGiven) -> Iterator[Problem]:
    if not 0 < len(given.observer.strip()) <= 80:
        yield Problem("observer", "Say who codes, in at most 80 letters.")
    if subject.session_id is None and not 0 < len(subject.recording.strip()) <= 200:
        yield Problem("recording", "Say which recording it is, in at most 200 letters.")
    if len(given.entries) > MAX_ENTRIES_A_CALL:
        yield Problem("entries", "{n} entries in one call; send at most {most}.", n=len(given.entries), most=500)
    outcomes = {outcome.value for outcome in Outcome}
    for entry in given.entries:
        yield from mark_problems(Mark(entry.time_s, entry.code if entry.kind is EntryKind.MARK else "–"))
        if subject.session_id and entry.kind is EntryKind.MARK and entry.code not in outcomes:
            yield Problem(
                "code",
                "“{given}” is no outcome of a try; give {known}.",
                given=entry.code,
                known=", ".join(sorted(outcomes)),
            )
        if (entry.kind is EntryKind.WITHDRAWN) != (entry.withdraws is not None):
            yield Problem("withdraws", "Only an entry that takes another one back names it.")
