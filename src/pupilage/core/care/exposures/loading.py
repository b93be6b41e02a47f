"""From TOML text to the list of what there is to meet: arrays of tables `[[exposure]]`, one file a group."""

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


def parse_exposures(sources: Sequence[SourceText]) -> ExposureCatalogue:
    """Return the list of the sources.

    Raises InvalidInput with all faults at once, each at "file: key.field".
    """
    faults: Faults = []
    seen: set[str] = set()
    items = [item for source in sources for item in _items_of(source, seen, faults)]
    if faults:
        raise InvalidInput(faults)
    order = list(ExposureGroup)
    items.sort(key=lambda item: order.index(item.group))
    return ExposureCatalogue({item.key: item for item in items})


def _items_of(source: SourceText, seen: set[str], faults: Faults) -> Iterator[ExposureItem]:
    for name, tables in parse_toml(source, faults).items():
        if name != "exposure" or not isinstance(tables, list):
            faults.append(
                Problem(source.name, "There is no part {given} here; use only [[exposure]].", given=shown(name))
            )
            continue
        for i, table in enumerate(tables, start=1):
            item = _read_item(table, f"{source.name}: exposure.{i}", source.name, seen=seen, faults=faults)
            if item is not None:
                yield item


def _read_item(table: object, where: str, file_name: str, *, seen: set[str], faults: Faults) -> ExposureItem | None:
    """Return the item of a table, or None and at least one fault."""
    if not isinstance(table, dict):
        faults.append(Problem(where, "{given} is not a table of fields.", given=shown(table)))
        return None
    n_before = len(faults)
    key = read_entry_key(table, where, faults, seen)
    named = f"{file_name}: {key}" if key else where
    rest = {name: value for name, value in table.items() if name != "key"}
    values = read_fields(rest, named, faults, FIELDS)
    report_missing(FIELDS, rest, named, faults, optional=OPTIONAL)
    faults.extend(_clashes(values, named))
    return ExposureItem(key=key, **values) if key and len(faults) == n_before else None


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
