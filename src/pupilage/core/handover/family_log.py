"""What a family writes down after the hand-over, kept apart from the trainer's own record."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class EntryKind(StrEnum):
    """What an entry tells. Stored values are fixed for good."""

    OUTING = "outing"
    INCIDENT = "incident"
    CUE = "cue"
    CALL_ME = "call-me"
    WITHDRAWN = "withdrawn"


class OutingWord(StrEnum):
    """How an outing went."""

    DONE = "done"
    ACCIDENT = "accident"


@dataclass(frozen=True)
class Entry:
    """One entry that a family wrote, or told. by: the name of their link, or that of the trainer who wrote it for them.

    subject: an `OutingWord`, the key of an unwanted behaviour, or of a behaviour; met: whether the cue worked; week: of
    the follow-up that asked for it; told: on the telephone.
    """

    id: str
    kind: EntryKind
    at: datetime
    subject: str = ""
    met: bool | None = None
    week: int | None = None
    note: str = ""
    by: str = ""
    told: bool = False
    withdraws: str = ""


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries that were not taken back, in time order."""
    every = list(entries)
    gone = {one.withdraws for one in every if one.kind is EntryKind.WITHDRAWN}
    kept = [one for one in every if one.kind is not EntryKind.WITHDRAWN and one.id not in gone]
    return sorted(kept, key=lambda one: (one.at, one.id))


def cues_of(entries: Sequence[Entry], behaviour: str) -> list[Entry]:
    """Return what was told of one behaviour's cue."""
    return [one for one in entries if one.kind is EntryKind.CUE and one.subject == behaviour and one.met is not None]


def count_accidents(entries: Sequence[Entry], *, since: datetime, until: datetime) -> int:
    """Return how many accidents were told of in a span."""
    told = [one for one in entries if one.kind is EntryKind.OUTING and one.subject == OutingWord.ACCIDENT]
    return sum(since <= one.at <= until for one in told)
