"""What one person wrote down while watching a session or a recording: a word for each moment."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from pupilage.core.errors import InvalidInput, Problem

MAX_LENGTH_S = 86_400.0
MAX_CODE_LETTERS = 40


class EntryKind(StrEnum):
    """What one entry of a coding says. Stored values are fixed for good."""

    MARK = "mark"
    WITHDRAWN = "withdrawn"
    ENDED = "ended"


@dataclass(frozen=True)
class Entry:
    """One tap of a person who codes. time_s: from the start of what is coded; withdraws: the id of another entry."""

    id: str
    kind: EntryKind
    time_s: float
    code: str = ""
    withdraws: str | None = None


@dataclass(frozen=True)
class Mark:
    """A moment, in seconds from the start, and the word given to it."""

    time_s: float
    code: str


@dataclass(frozen=True)
class Coding:
    """A person's marks in time order. length_s: how long the person watched, None where nobody wrote it down."""

    observer: str
    marks: tuple[Mark, ...]
    length_s: float | None = None

    def moved(self, shift_s: float) -> "Coding":
        """Return the coding as on a clock that is `shift_s` seconds ahead."""
        marks = tuple(replace(mark, time_s=mark.time_s + shift_s) for mark in self.marks)
        return Coding(self.observer, marks, None if self.length_s is None else self.length_s + shift_s)


def fold_coding(observer: str, entries: Iterable[Entry]) -> Coding:
    """Return what stands of a person's entries, in whatever order they arrived.

    An entry that another one withdraws counts for nothing. The last end that stands is how long the person watched;
    a mark after it moves it, since nobody marks what they no longer watch.
    """
    known = list(entries)
    gone = {entry.withdraws for entry in known if entry.kind is EntryKind.WITHDRAWN}
    standing = [entry for entry in known if entry.id not in gone]
    marks = [Mark(entry.time_s, entry.code) for entry in standing if entry.kind is EntryKind.MARK]
    ends = [entry.time_s for entry in standing if entry.kind is EntryKind.ENDED]
    return coding_of(observer, marks, length_s=max(ends) if ends else None)


def coding_of(observer: str, marks: Sequence[Mark], *, length_s: float | None = None) -> Coding:
    """Return a coding with its marks in time order. Raises InvalidInput for a time or a word that cannot be."""
    problems = [problem for mark in marks for problem in mark_problems(mark)]
    if problems:
        raise InvalidInput(problems)
    if length_s is not None:
        length_s = max([length_s, *(mark.time_s for mark in marks)])
    return Coding(observer, tuple(sorted(marks, key=lambda mark: mark.time_s)), length_s)


def mark_problems(mark: Mark) -> list[Problem]:
    """Return everything that is wrong with a mark."""
    problems = []
    if not (math.isfinite(mark.time_s) and 0.0 <= mark.time_s <= MAX_LENGTH_S):
        problems.append(
            Problem(
                "time_s",
                "{given} s is no moment of a session; give seconds from its start, 0 to {most:.0f}.",
                given=mark.time_s,
                most=MAX_LENGTH_S,
            )
        )
    if not 0 < len(mark.code.strip()) <= MAX_CODE_LETTERS:
        problems.append(Problem("code", "Give each moment a word of at most {most} letters.", most=MAX_CODE_LETTERS))
    return problems
