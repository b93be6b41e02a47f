"""The log of exposures: append-only, each entry with an id of its own, taken back by another entry."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pupilage.core.care.exposures.item import VetTopic


class EntryKind(StrEnum):
    """What an entry of the log is about. Stored values are fixed for good."""

    MET = "met"
    VET_WORD = "vet-word"
    WITHDRAWN = "withdrawn"


class Response(StrEnum):
    """What the pup did, on five points that two people would score alike. Stored values are fixed for good."""

    CURIOUS = "curious"
    """Loose body; goes closer by itself, and eats."""
    CALM = "calm"
    """Loose body; looks, eats, and turns to other things."""
    UNSURE = "unsure"
    """Stops or looks for long; comes no closer, and still eats."""
    WORRIED = "worried"
    """Turns or backs away, low or stiff; hardly eats."""
    AFRAID = "afraid"
    """Flees, hides, freezes, trembles or cries; does not eat."""


AT_EASE = frozenset({Response.CURIOUS, Response.CALM})
FEAR = frozenset({Response.WORRIED, Response.AFRAID})


@dataclass(frozen=True)
class Exposure:
    """One meeting with an item. at: aware UTC; intensity: 1 to 5.

    distance_m, recovery_s, with_food: None where nothing was written down. recovery_s: seconds from the first sign of
    a response until the pup was loose and ate again.
    """

    id: str
    item: str
    at: datetime
    intensity: int
    response: Response
    distance_m: float | None = None
    recovery_s: float | None = None
    with_food: bool | None = None
    note: str = ""


@dataclass(frozen=True)
class VetWord:
    """The veterinarian said yes to a topic for this pup. at: aware UTC."""

    id: str
    topic: VetTopic
    at: datetime


@dataclass(frozen=True)
class Withdrawal:
    """Takes another entry back. of: the id of that entry."""

    id: str
    of: str


LogEntry = Exposure | VetWord | Withdrawal


def standing_exposures(log: Iterable[LogEntry]) -> list[Exposure]:
    """Return the meetings that were not taken back, each once, in time order; the order of the log does not matter."""
    entries = list(log)
    withdrawn = _withdrawn(entries)
    met = {entry.id: entry for entry in entries if isinstance(entry, Exposure) and entry.id not in withdrawn}
    return sorted(met.values(), key=lambda one: (one.at, one.id))


def vet_words(log: Iterable[LogEntry]) -> dict[VetTopic, VetWord]:
    """Return what the veterinarian said yes to, with the newest word that was not taken back."""
    entries = list(log)
    withdrawn = _withdrawn(entries)
    words = [entry for entry in entries if isinstance(entry, VetWord) and entry.id not in withdrawn]
    return {word.topic: word for word in sorted(words, key=lambda one: (one.at, one.id))}


def _withdrawn(entries: Iterable[LogEntry]) -> set[str]:
    return {entry.of for entry in entries if isinstance(entry, Withdrawal)}
