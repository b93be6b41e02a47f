"""What one cell of a sheet says: a number, a day, a time, an outcome. None where the cell says nothing readable."""

import re
from collections.abc import Iterable
from datetime import date, time
from enum import StrEnum

from pupilage.core.training.record.evidence import Outcome, SessionKind

OUTCOME_WORDS = {
    Outcome.MET: ("met", "m", "yes", "y", "1", "+"),
    Outcome.MISSED: ("missed", "miss", "x", "no", "n", "0", "-", "\u2212"),
    Outcome.HELPED: ("helped", "help", "h", "prompted", "p"),
    Outcome.VOID: ("void", "v", "not counted"),
}
KIND_WORDS = {
    SessionKind.TRAINING: ("", "training", "train", "t"),
    SessionKind.PROBE: ("probe", "baseline", "test", "cold"),
}

_OUTCOMES = {word: outcome for outcome, words in OUTCOME_WORDS.items() for word in words}
_KINDS = {word: kind for kind, words in KIND_WORDS.items() for word in words}

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_ISO_DAY = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_LOCAL_DAY = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_TIME = re.compile(r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?\s*([ap])?\.?m?\.?", re.IGNORECASE)


_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")


class DateOrder(StrEnum):
    """How days such as 3/5/2026 are read."""

    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


def guarded(text: str) -> str:
    """Return a text as a cell that no spreadsheet takes for a formula; `unguarded` undoes it."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def unguarded(cell: str) -> str:
    """Return the text of a cell that `guarded` may have written."""
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(_FORMULA) else cell


def read_yes_no(cell: str) -> bool | None:
    """Return whether a cell says yes or no."""
    word = cell.casefold()
    return True if word in ("yes", "y", "true", "1") else False if word in ("no", "n", "false", "0") else None


def read_outcome(cell: str) -> Outcome | None:
    """Return the outcome that a word or sign of OUTCOME_WORDS stands for."""
    return _OUTCOMES.get(cell.casefold())


def read_kind(cell: str) -> SessionKind | None:
    """Return training for an empty cell, else what the word of KIND_WORDS stands for."""
    return _KINDS.get(cell.casefold())


def read_number(cell: str) -> float | None:
    """Return a number of 0 or more, with a decimal point or a decimal comma, and `s` for seconds allowed."""
    word = cell.casefold().removesuffix("s").rstrip()
    return float(word.replace(",", ".")) if _NUMBER.fullmatch(word) else None


def read_count(cell: str) -> int | None:
    """Return a whole number of 0 or more; `2,0` is one."""
    number = read_number(cell)
    return int(number) if number is not None and number.is_integer() else None


def split_moment(cell: str) -> tuple[str, str]:
    """Return the day and the time of a cell that may hold both, as in `2026-03-05 14:30`."""
    day, _, at = cell.replace("T", " ", 1).partition(" ")
    return day, at.strip()


def read_day(cell: str, order: DateOrder) -> date | None:
    """Return a day: 2026-03-05 always by its own order, 5.3.2026 day first, 5/3/2026 and 5-3-2026 by `order`."""
    if found := _ISO_DAY.fullmatch(cell):
        year, month, day = (int(part) for part in found.groups())
    elif found := _LOCAL_DAY.fullmatch(cell):
        first, second = int(found[1]), int(found[3])
        day_first = found[2] == "." or order is DateOrder.DAY_FIRST
        day, month = (first, second) if day_first else (second, first)
        year = int(found[4]) + (2000 if len(found[4]) == 2 else 0)
    else:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def possible_orders(cells: Iterable[str]) -> set[DateOrder]:
    """Return the orders in which all the days of a sheet can be read; both when none of them tells.

    Days that read the same either way (4/4/2026) and days with points tell nothing.
    """
    orders = set(DateOrder)
    for cell in cells:
        found = _LOCAL_DAY.fullmatch(cell)
        if found is None or found[2] == ".":
            continue
        if int(found[1]) > 12:
            orders.discard(DateOrder.MONTH_FIRST)
        if int(found[3]) > 12:
            orders.discard(DateOrder.DAY_FIRST)
    return orders


def depends_on_order(cell: str) -> bool:
    """Say whether a day reads differently in the two orders."""
    found = _LOCAL_DAY.fullmatch(cell)
    return found is not None and found[2] != "." and found[1].lstrip("0") != found[3].lstrip("0")


def read_time(cell: str) -> time | None:
    """Return a time of day: 14:30, 14:30:05, 14.30, 2:30 pm."""
    found = _TIME.fullmatch(cell.strip())
    if found is None:
        return None
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    if found[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found[4].casefold() == "p" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        return None
