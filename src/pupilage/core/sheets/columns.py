"""Which column of a sheet holds what."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from pupilage.core.errors import InvalidInput, Problem


class Column(StrEnum):
    """What a sheet may say of a trial."""

    DATE = "date"
    TIME = "time"
    BEHAVIOUR = "behaviour"
    STEP = "step"
    OUTCOME = "outcome"
    LATENCY = "latency"
    HELD = "held_s"
    TARGET = "target_s"
    PIECES = "pieces"
    REINFORCER = "reinforcer"
    KIND = "kind"
    SESSION = "session"
    PLACE = "place"
    HANDLER = "handler"
    BROKE = "broke"
    TRIAL = "trial_id"


ALSO_CALLED = {
    "day": Column.DATE,
    "behavior": Column.BEHAVIOUR,
    "result": Column.OUTCOME,
    "latency_s": Column.LATENCY,
    "held": Column.HELD,
    "target": Column.TARGET,
    "where": Column.PLACE,
}

NEEDED = (Column.DATE, Column.BEHAVIOUR, Column.STEP)


def find_columns(header: Sequence[str], named: Mapping[str, str]) -> dict[Column, int]:
    """Return where each column stands. `named` says which header holds a column, such as {"outcome": "Got it?"}.

    Names match without regard to case. Raises InvalidInput with everything that is missing or named twice.
    """
    asked = {Column(name): title for name, title in named.items() if name in set(Column)}
    problems = [
        Problem("column", "“{name}” is no column; the columns are {known}.", name=name, known=", ".join(Column))
        for name in named
        if name not in set(Column)
    ]
    places: dict[Column, int] = {}
    for place, title in enumerate(header):
        column = _column_of(title, asked)
        if column is None:
            continue
        if column in places:
            problems.append(
                Problem("header", "Two columns are called “{name}”; rename one of them.", name=column.value)
            )
        places[column] = place
    problems += _missing(places, header, asked)
    if problems:
        raise InvalidInput(problems)
    return places


def _column_of(title: str, asked: Mapping[Column, str]) -> Column | None:
    word = title.strip().casefold()
    for column, wanted in asked.items():
        if wanted.strip().casefold() == word:
            return column
    found = ALSO_CALLED.get(word) or (Column(word) if word in set(Column) else None)
    return None if found in asked else found


def _missing(places: Mapping[Column, int], header: Sequence[str], asked: Mapping[Column, str]) -> list[Problem]:
    missing = [column for column in (*NEEDED, *asked) if column not in places]
    if Column.OUTCOME not in places and Column.HELD not in places:
        missing.append(Column.OUTCOME)
    return [
        Problem(
            "header",
            "There is no column “{name}”; the file has {found}. Say which one it is with --column {name}=HEADER.",
            name=column.value,
            found=", ".join(f"“{title}”" for title in header if title) or "none",
        )
        for column in dict.fromkeys(missing)
    ]
