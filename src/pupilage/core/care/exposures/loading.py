"""From TOML text to the list of what there is to meet: arrays of tables `[[exposure]]`, ours and a trainer's own."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from pupilage.core.care.exposures.item import (
    LEAST_INTENSITY,
    MOST_INTENSITY,
    ExposureCatalogue,
    ExposureGroup,
    ExposureItem,
    VetTopic,
)
from pupilage.core.catalogue.entries import Entry
from pupilage.core.catalogue.loading import SourceText, parse_toml, read_entry_key, source_of
from pupilage.core.catalogue.values import (
    Faults,
    Reader,
    choice,
    number,
    read_fields,
    read_flag,
    read_text,
    report_missing,
    shown,
    whole_number,
)
from pupilage.core.errors import InvalidInput, Problem

MAX_DISTANCE_M = 200.0
MAX_MINUTES = 10

FIELDS: Mapping[str, Reader] = {
    "group": choice(ExposureGroup),
    "name": read_text,
    "begin": read_text,
    "watch": read_text,
    "target": whole_number(LEAST_INTENSITY, MOST_INTENSITY),
    "weight": whole_number(1, 5),
    "minutes": whole_number(1, MAX_MINUTES),
    "first_m": number(0, MAX_DISTANCE_M),
    "nearest_m": number(0, MAX_DISTANCE_M),
    "strong": read_flag,
    "vet_topic": choice(VetTopic),
    "until_then": read_text,
}
OPTIONAL = frozenset({"first_m", "nearest_m", "strong", "vet_topic", "until_then"})


def bundled_sources() -> list[SourceText]:
    """Return our own files, in the order of their names."""
    data = files("pupilage.core.care.exposures") / "data"
    return [
        source_of(file, "")
        for file in sorted(data.iterdir(), key=lambda each: each.name)
        if file.name.endswith(".toml")
    ]


@cache
def load_exposures() -> ExposureCatalogue:
    """Return our own list; read once in a process."""
    return parse_exposures(bundled_sources())


def exposures_from(own: Sequence[SourceText]) -> ExposureCatalogue:
    """Return our own list with a trainer's files laid over it, in the order given.

    Raises InvalidInput with every fault of those files.
    """
    return parse_exposures([*bundled_sources(), *own]) if own else load_exposures()


def parse_exposures(sources: Sequence[SourceText]) -> ExposureCatalogue:
    """Return the list of the sources; a later one overrides an earlier one by key, field by field.

    Raises InvalidInput with all faults at once, each at "file: key.field".
    """
    faults: Faults = []
    entries: dict[str, Entry] = {}
    for index, source in enumerate(sources):
        _gather(entries, source, index, faults)
    for entry in entries.values():
        where = f"{sources[entry.last_source].name}: {entry.key}"
        report_missing(FIELDS, entry.origins, where, faults, optional=OPTIONAL)
        faults.extend(_clashes(entry.values, where))
    if faults:
        raise InvalidInput(faults)
    items = [ExposureItem(key=entry.key, **entry.values) for entry in entries.values()]
    order = list(ExposureGroup)
    items.sort(key=lambda item: order.index(item.group))
    return ExposureCatalogue({item.key: item for item in items})


def _gather(entries: dict[str, Entry], source: SourceText, index: int, faults: Faults) -> None:
    """Read one source, and lay its items over those that are there."""
    seen: set[str] = set()
    for name, tables in parse_toml(source, faults).items():
        if name != "exposure" or not isinstance(tables, list):
            faults.append(
                Problem(source.name, "There is no part {given} here; use only [[exposure]].", given=shown(name))
            )
            continue
        for i, table in enumerate(tables, start=1):
            where = f"{source.name}: exposure.{i}"
            if not isinstance(table, dict):
                faults.append(Problem(where, "{given} is not a table of fields.", given=shown(table)))
                continue
            key = read_entry_key(table, where, faults, seen)
            rest = {field: value for field, value in table.items() if field != "key"}
            values = read_fields(rest, f"{source.name}: {key}" if key else where, faults, FIELDS)
            if key:
                entries.setdefault(key, Entry(key)).merge(rest, values, index)


def _clashes(values: Mapping[str, Any], where: str) -> Iterator[Problem]:
    """Yield the fields of one item that do not fit each other."""
    first, nearest = values.get("first_m"), values.get("nearest_m")
    if (first is None) != (nearest is None):
        yield Problem(where, "Give both first_m and nearest_m, or neither where distance says nothing.")
    elif first is not None and nearest is not None and nearest > first:
        yield Problem(
            f"{where}.nearest_m",
            "{nearest:g} m is farther than the {first:g} m to begin at; give a nearer one.",
            nearest=nearest,
            first=first,
        )
    if ("vet_topic" in values) != ("until_then" in values):
        yield Problem(where, "What waits for the veterinarian (vet_topic) needs until_then, and nothing else does.")
