"""Readers of single values out of a catalogue file: each returns the typed value, or None and a fault.

A reader never raises. It adds a `Problem` that says where the value stands and what to write instead.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import Any

from pupilage.core.errors import Problem

Faults = list[Problem]
Reader = Callable[[object, str, Faults], Any]
"""A reader takes the raw value, where it stands ("file: key.path"), and the list that gathers the faults."""

MAX_KEY_LENGTH = 60
SHOWN_LENGTH = 40
KEY = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


def shown(value: object) -> str:
    """Return a value as it is quoted in a message: short, and safe whatever the file holds."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"“{value}”" if len(value) <= SHOWN_LENGTH else f"“{value[:SHOWN_LENGTH]}…”"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and abs(value) >= 10**15:  # str() refuses to print very long integers
        return "a very large number"
    return str(value)


def read_text(value: object, where: str, faults: Faults) -> str | None:
    """Return a text with its white space evened out."""
    if not isinstance(value, str):
        faults.append(Problem(where, "{given} is not a text; write it between quotation marks.", given=shown(value)))
        return None
    text = " ".join(value.split())
    if not text:
        faults.append(Problem(where, "This text is empty; write at least one word."))
        return None
    if any(unicodedata.category(character) == "Cc" for character in text):
        faults.append(Problem(where, "This text holds a control character; take it out."))
        return None
    return text


def read_key(value: object, where: str, faults: Faults) -> str | None:
    """Return a key such as `four-feet-greeting`."""
    if isinstance(value, str) and len(value) <= MAX_KEY_LENGTH and KEY.fullmatch(value):
        return value
    faults.append(
        Problem(
            where,
            "{given} cannot be a key; use up to {longest} small letters, digits and single hyphens,"
            " beginning with a letter, such as loose-lead.",
            given=shown(value),
            longest=MAX_KEY_LENGTH,
        )
    )
    return None


def read_flag(value: object, where: str, faults: Faults) -> bool | None:
    """Return true or false, or None and a fault."""
    if isinstance(value, bool):
        return value
    faults.append(Problem(where, "{given} is neither true nor false; write one of them.", given=shown(value)))
    return None


def read_key_or_none(value: object, where: str, faults: Faults) -> str | None:
    """Return a key, or an empty text, which stands for none."""
    return "" if value == "" else read_key(value, where, faults)


def whole_number(low: int, high: int) -> Reader:
    """Return a reader of whole numbers from low to high."""

    def read(value: object, where: str, faults: Faults) -> int | None:
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        faults.append(
            Problem(
                where,
                "{given} is not a whole number from {low} to {high}; write one without quotation marks.",
                given=shown(value),
                low=low,
                high=high,
            )
        )
        return None

    return read


def number(low: float, high: float) -> Reader:
    """Return a reader of numbers from low to high; NaN and the infinities are faults."""

    def read(value: object, where: str, faults: Faults) -> float | None:
        # The range is tested before float(), which would overflow on a very long integer.
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            return float(value)
        faults.append(
            Problem(
                where,
                "{given} is not a number from {low:g} to {high:g}; write one with a decimal point"
                " and without quotation marks.",
                given=shown(value),
                low=low,
                high=high,
            )
        )
        return None

    return read


def choice(kind: type[StrEnum]) -> Reader:
    """Return a reader of one of the stored values of an enumeration."""
    stored = frozenset(kind)
    allowed = ", ".join(kind)

    def read(value: object, where: str, faults: Faults) -> StrEnum | None:
        if isinstance(value, str) and value in stored:
            return kind(value)
        faults.append(
            Problem(where, "{given} is unknown here; use one of: {allowed}.", given=shown(value), allowed=allowed)
        )
        return None

    return read


def list_of(item: Reader, *, at_least: int = 0, exactly: int | None = None) -> Reader:
    """Return a reader of a list, each item by `item`; items that cannot be read are left out."""

    def read(value: object, where: str, faults: Faults) -> tuple[Any, ...] | None:
        if not isinstance(value, list):
            faults.append(Problem(where, "{given} is not a list; write it between [ and ].", given=shown(value)))
            return None
        if exactly is not None and len(value) != exactly:
            faults.append(Problem(where, "There are {n} items; write exactly {need}.", n=len(value), need=exactly))
        elif len(value) < at_least:
            faults.append(Problem(where, "The list is empty; write at least {need}.", need=at_least))
        items = [item(each, f"{where}.{i}", faults) for i, each in enumerate(value, start=1)]
        return tuple(each for each in items if each is not None)

    return read


def table_of(fields: Mapping[str, Reader], *, optional: frozenset[str] = frozenset()) -> Reader:
    """Return a reader of a table: unknown and missing fields are faults, unreadable ones are left out."""

    def read(value: object, where: str, faults: Faults) -> dict[str, Any] | None:
        if not isinstance(value, dict):
            faults.append(Problem(where, "{given} is not a table of fields.", given=shown(value)))
            return None
        report_missing(fields, value, where, faults, optional=optional)
        return read_fields(value, where, faults, fields)

    return read


def read_fields(
    table: Mapping[str, object], where: str, faults: Faults, fields: Mapping[str, Reader]
) -> dict[str, Any]:
    """Return the readable fields of a table; unknown names are faults."""
    values: dict[str, Any] = {}
    for name, raw in table.items():
        reader = fields.get(name)
        if reader is None:
            faults.append(
                Problem(
                    where,
                    "There is no field {given}; use only: {known}.",
                    given=shown(name),
                    known=", ".join(fields),
                )
            )
        elif (value := reader(raw, f"{where}.{name}", faults)) is not None:
            values[name] = value
    return values


def report_missing(
    fields: Mapping[str, Reader],
    present: Mapping[str, object],
    where: str,
    faults: Faults,
    *,
    optional: frozenset[str] = frozenset(),
) -> None:
    """Add a fault for each field that is needed and not there."""
    for name in fields:
        if name not in present and name not in optional:
            faults.append(Problem(where, "The field {name} is missing; add it.", name=name))
