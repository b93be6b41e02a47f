"""Codings of a session or a recording, as core's type."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.evaluation.codings import Coding, Entry, EntryKind, fold_coding
from pupilage.storage.models import Coding as CodingRow
from pupilage.storage.models import CodingEntry, Dog, TrainingSession


@dataclass(frozen=True)
class KeptCoding:
    """A stored coding: its id, when it was begun, and what stands of it."""

    id: UUID
    made_at: datetime
    coding: Coding


def list_session_codings(session: TrainingSession) -> list[KeptCoding]:
    """Return the codings of a session, the newest first. Two queries."""
    return _folded(list(CodingRow.objects.filter(session=session, workspace_id=session.workspace_id)))


def list_recording_codings(dog: Dog, recording: str) -> list[KeptCoding]:
    """Return the codings of a dog's recording, the newest first. Two queries."""
    return _folded(list(CodingRow.objects.filter(dog=dog, workspace_id=dog.workspace_id, recording=recording)))


def _folded(rows: list[CodingRow]) -> list[KeptCoding]:
    entries: dict[UUID, list[Entry]] = defaultdict(list)
    for row in CodingEntry.objects.filter(coding__in=rows).order_by("id"):
        entries[row.coding_id].append(
            Entry(
                str(row.entry_id),
                EntryKind(row.kind),
                row.time_s,
                row.code,
                str(row.withdraws) if row.withdraws else None,
            )
        )
    rows.sort(key=lambda row: (row.made_at, str(row.id)), reverse=True)
    return [KeptCoding(row.id, row.made_at, fold_coding(row.observer, entries[row.id])) for row in rows]
