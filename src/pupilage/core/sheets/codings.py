"""A coding kept in a spreadsheet: one row a mark, with its time and its word."""

import re
from collections.abc import Sequence

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.evaluation.codings import Coding, Mark, coding_of, mark_problems
from pupilage.core.sheets.cells import read_number
from pupilage.core.sheets.text import read_table

TIME_COLUMNS = ("time_s", "time")
CODE_COLUMNS = ("code", "outcome")
END = "end"
"""The word of the row that says how long the person watched."""

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{2}(?:[.,]\d+)?)")


def read_coding(content: bytes, observer: str) -> Coding:
    """Return the coding of a CSV file with the columns time_s (83.5, or 1:23.5) and code.

    A row with the code `end` says how long the person watched. Other columns are passed over; encodings and separators
    are those of `sheets.text.read_table`. Words match without regard to capitals.
    Raises: InvalidInput with everything that is wrong, row by row.
    """
    table = read_table(content)
    header = [title.casefold() for title in table.header]
    time_at, code_at = _find(header, TIME_COLUMNS), _find(header, CODE_COLUMNS)
    if time_at is None or code_at is None:
        raise InvalidInput.of(
            observer,
            "The file needs the columns {time} and {code}; it has {found}.",
            time=TIME_COLUMNS[0],
            code=CODE_COLUMNS[0],
            found=", ".join(f"“{title}”" for title in table.header if title) or "none",
        )
    marks: list[Mark] = []
    problems: list[Problem] = []
    for number, cells in table.rows:
        mark, wrong = _read_row(cells, time_at, code_at)
        marks += [mark] if mark else []
        problems += [Problem(f"{observer}, row {number}", p.sentence.template, **p.sentence.figures) for p in wrong]
    if problems:
        raise InvalidInput(problems)
    ends = [mark.time_s for mark in marks if mark.code == END]
    return coding_of(observer, [mark for mark in marks if mark.code != END], length_s=max(ends, default=None))


def _find(header: Sequence[str], names: Sequence[str]) -> int | None:
    return next((header.index(name) for name in names if name in header), None)


def _read_row(cells: Sequence[str], time_at: int, code_at: int) -> tuple[Mark | None, list[Problem]]:
    time_cell = cells[time_at] if time_at < len(cells) else ""
    code = (cells[code_at] if code_at < len(cells) else "").strip().casefold()
    time_s = read_moment_s(time_cell)
    if time_s is None:
        return None, [
            Problem(
                "time_s",
                "“{given}” is no time from the start; write seconds such as 83.5, or 1:23.5.",
                given=time_cell,
            )
        ]
    mark = Mark(time_s, code)
    problems = mark_problems(mark)
    return (None, problems) if problems else (mark, [])


def read_moment_s(cell: str) -> float | None:
    """Return seconds from the start: 83.5, 83,5 s, 1:23.5 or 1:02:03; None where the cell says nothing of the kind."""
    if found := _CLOCK.fullmatch(cell.strip()):
        hours, minutes, seconds = int(found[1] or 0), int(found[2]), float(found[3].replace(",", "."))
        return 3600.0 * hours + 60.0 * minutes + seconds if seconds < 60.0 else None
    return read_number(cell)
