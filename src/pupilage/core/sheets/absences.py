"""Rows of a sheet as absences: the columns that `pupilage alone --csv` writes; only `at` and `away_s` are needed."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, tzinfo
from enum import StrEnum
from typing import TypeVar

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.core.sheets.moments import at_wall_clock
from pupilage.core.sheets.text import Table

COLUMNS = ("at", "away_s", "signs", "spot", "resident", "had", "state", "watched", "watched_s", "note")
YES, NO = ("true", "yes", "1"), ("", "false", "no", "0")

Key = TypeVar("Key", bound=StrEnum)


def read_absence_rows(table: Table, *, zone: tzinfo) -> list[tuple[int, AbsenceRecord]]:
    """Return the absences with their row numbers, each with its row as id: the caller gives it its own.

    at: ISO 8601, without a zone on the clock of `zone`. signs: keys with seconds, such as `whining@12.5 damage`.
    Raises: InvalidInput with every bad cell, each under its row's number; for a header without `at` and `away_s`.
    """
    header = [name.casefold() for name in table.header]
    missing = [Problem("header", "There is no column “{name}”.", name=n) for n in ("at", "away_s") if n not in header]
    unknown = [
        Problem("header", "“{name}” is no column; give {known}.", name=name, known=", ".join(COLUMNS))
        for name in header
        if name and name not in COLUMNS
    ]
    if missing or unknown:
        raise InvalidInput([*missing, *unknown])
    found, problems = [], list[Problem]()
    for number, cells in table.rows:
        reader = _Row(number, dict(zip(header, cells, strict=False)), zone)
        found.append((number, reader.record()))
        problems += reader.problems
    if problems:
        raise InvalidInput(problems)
    return found


class _Row:
    """One row, and what is wrong with it."""

    def __init__(self, number: int, cells: Mapping[str, str], zone: tzinfo) -> None:
        self.number, self.cells, self.zone = number, cells, zone
        self.problems: list[Problem] = []

    def record(self) -> AbsenceRecord:
        """Return the absence; where a cell is bad, a stand-in that nobody sees."""
        return AbsenceRecord(
            id=str(self.number),
            at=self._moment(),
            away_s=self._seconds(self._cell("away_s")) or 0.0,
            signs=tuple(self._signs()),
            spot=next(iter(self._keys("spot", Spot)), None),
            resident=self._is_yes("resident"),
            had=tuple(self._keys("had", Had)),
            state=tuple(self._keys("state", State)),
            watched=next(iter(self._keys("watched", Watched)), Watched.CAMERA),
            watched_s=self._seconds(self._cell("watched_s")) if self._cell("watched_s") else None,
            note=self._cell("note"),
        )

    def _cell(self, name: str) -> str:
        return self.cells.get(name, "").strip()

    def _refuse(self, template: str, given: str) -> None:
        self.problems.append(Problem(f"row {self.number}", template, given=given))

    def _moment(self) -> datetime:
        try:
            at = datetime.fromisoformat(self._cell("at"))
        except ValueError:
            self._refuse("“{given}” is no time; give one such as 2026-05-12T09:30.", self._cell("at"))
            return datetime(1970, 1, 1, tzinfo=UTC)
        return at.astimezone(UTC) if at.tzinfo else at_wall_clock(at, self.zone).at

    def _seconds(self, text: str) -> float | None:
        try:
            return float(text.replace(",", "."))
        except ValueError:
            self._refuse("“{given}” are no seconds; give a number, such as 95.", text)
            return None

    def _signs(self) -> Iterable[SignAt]:
        for word in self._cell("signs").split():
            key, has_time, seconds = word.partition("@")
            if key in set(Sign):
                yield SignAt(Sign(key), self._seconds(seconds) if has_time else None)
            else:
                self._refuse("“{given}” is no sign that we know.", key)

    def _keys(self, name: str, kind: type[Key]) -> Iterable[Key]:
        for key in self._cell(name).split():
            if key in set(kind):
                yield kind(key)
            else:
                self._refuse("“{given}” is no word of ours for this column.", key)

    def _is_yes(self, name: str) -> bool:
        given = self._cell(name).casefold()
        if given not in (*YES, *NO):
            self._refuse("“{given}” is neither yes nor no.", given)
        return given in YES
