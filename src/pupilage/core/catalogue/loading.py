"""From TOML text to the catalogue: our own data, and a trainer's files laid over it.

The format is one for ours and theirs: arrays of tables `[[behaviour]]` and `[[unwanted]]`, and the list
`distractions`. A later source overrides an earlier one by key, field by field: what it leaves out stays as it was.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.coherence import behaviour_problems, unwanted_problems
from pupilage.core.catalogue.entries import (
    BEHAVIOUR_FIELDS,
    BEHAVIOUR_OPTIONAL,
    N_DISTRACTIONS,
    UNWANTED_FIELDS,
    UNWANTED_OPTIONAL,
    Entry,
    build_behaviour,
    build_unwanted,
)
from pupilage.core.catalogue.values import (
    Faults,
    Reader,
    list_of,
    read_fields,
    read_key,
    read_text,
    report_missing,
    shown,
)
from pupilage.core.errors import InvalidInput, Problem

FIELDS_OF_KIND: Mapping[str, Mapping[str, Reader]] = {
    "behaviour": BEHAVIOUR_FIELDS,
    "unwanted": UNWANTED_FIELDS,
}
OPTIONAL_OF_KIND = {"behaviour": BEHAVIOUR_OPTIONAL, "unwanted": UNWANTED_OPTIONAL}
read_distractions = list_of(read_text, exactly=N_DISTRACTIONS)


@dataclass(frozen=True)
class SourceText:
    """One catalogue file, already decoded: its name for messages, and its TOML text."""

    name: str
    text: str


@dataclass
class Gathering:
    """What has been read so far: the entries of each kind, the distractions, and every fault."""

    entries: dict[str, dict[str, Entry]] = field(default_factory=lambda: {kind: {} for kind in FIELDS_OF_KIND})
    distractions: tuple[str, ...] | None = None
    faults: Faults = field(default_factory=list)


def bundled_sources() -> list[SourceText]:
    """Return our own catalogue files, in the order of their names. The only place where `core` reads files."""
    data = files("pupilage.core.catalogue") / "data"
    return [
        source_of(file, prefix)
        for prefix, folder in (("", data), ("behaviours/", data / "behaviours"), ("unwanted/", data / "unwanted"))
        for file in sorted(folder.iterdir(), key=lambda each: each.name)
        if file.name.endswith(".toml")
    ]


def source_of(file: Traversable, prefix: str) -> SourceText:
    """Return one of our own files as a source."""
    return SourceText(prefix + file.name, file.read_text(encoding="utf-8"))


@cache
def load_bundled() -> Catalogue:
    """Return our own catalogue; read once in a process."""
    return parse_catalogue(bundled_sources())


def catalogue_from(own: Sequence[SourceText]) -> Catalogue:
    """Return our own catalogue with a trainer's files laid over it, in the order given.

    Raises InvalidInput with every fault of those files.
    """
    return parse_catalogue([*bundled_sources(), *own]) if own else load_bundled()


def parse_catalogue(sources: Sequence[SourceText]) -> Catalogue:
    """Return the catalogue of the sources; a later one overrides an earlier one by key, field by field.

    Raises InvalidInput with all faults at once, each at "file: key.path"; lists count from 1.
    """
    gathering = Gathering()
    for index, source in enumerate(sources):
        gather_source(gathering, source, index)
    names = [source.name for source in sources]
    check_gathering(gathering, names)
    if gathering.faults or gathering.distractions is None:
        raise InvalidInput(gathering.faults)
    return Catalogue(
        behaviours={key: build_behaviour(entry) for key, entry in gathering.entries["behaviour"].items()},
        unwanted={key: build_unwanted(entry) for key, entry in gathering.entries["unwanted"].items()},
        distractions=gathering.distractions,
    )


def gather_source(gathering: Gathering, source: SourceText, index: int) -> None:
    """Read one source into the gathering."""
    for name, value in parse_toml(source, gathering.faults).items():
        if name == "distractions":
            where = f"{source.name}: distractions"
            gathering.distractions = read_distractions(value, where, gathering.faults) or ()
        elif name in FIELDS_OF_KIND:
            gather_entries(gathering, name, value, source, index)
        else:
            gathering.faults.append(
                Problem(
                    source.name,
                    "There is no part {given} in a catalogue; use only [[behaviour]], [[unwanted]] and distractions.",
                    given=shown(name),
                )
            )


def parse_toml(source: SourceText, faults: Faults) -> dict[str, Any]:
    """Return the tables of a TOML text, or nothing and a fault."""
    try:
        return tomllib.loads(source.text.removeprefix("\ufeff"))
    except RecursionError:
        faults.append(Problem(source.name, "The brackets are nested too deeply; a catalogue needs few of them."))
    except ValueError as error:  # tomllib's own error is one; very long integers raise the plain kind
        faults.append(
            Problem(
                source.name,
                "This is not valid TOML: {reason}. Correct it there; texts stand between quotation marks,"
                " numbers have a decimal point.",
                reason=str(error),
            )
        )
    return {}


def gather_entries(gathering: Gathering, kind: str, tables: object, source: SourceText, index: int) -> None:
    """Read the tables of one kind of one source, and lay them over what is there."""
    faults = gathering.faults
    if not isinstance(tables, list):
        faults.append(
            Problem(f"{source.name}: {kind}", "Begin each entry with [[{kind}]], in double brackets.", kind=kind)
        )
        return
    seen: set[str] = set()
    for i, table in enumerate(tables, start=1):
        where = f"{source.name}: {kind}.{i}"
        if not isinstance(table, dict):
            faults.append(Problem(where, "{given} is not a table of fields.", given=shown(table)))
            continue
        key = read_entry_key(table, where, faults, seen)
        named = f"{source.name}: {key}" if key else where
        rest = {name: value for name, value in table.items() if name != "key"}
        values = read_fields(rest, named, faults, FIELDS_OF_KIND[kind])
        if key:
            entry = gathering.entries[kind].setdefault(key, Entry(key))
            entry.merge(rest, values, index)


def read_entry_key(table: Mapping[str, object], where: str, faults: Faults, seen: set[str]) -> str | None:
    """Return the key of an entry, or None and a fault; `seen` are the keys of this file so far."""
    if "key" not in table:
        faults.append(Problem(where, "The field {name} is missing; add it.", name="key"))
        return None
    key: str | None = read_key(table["key"], f"{where}.key", faults)
    if key in seen:
        faults.append(
            Problem(f"{where}.key", "The key “{key}” stands twice in this file; give each its own.", key=key or "")
        )
    if key:
        seen.add(key)
    return key


def check_gathering(gathering: Gathering, names: Sequence[str]) -> None:
    """Add the faults that show only when all sources are read: what is missing, and what does not fit."""
    faults = gathering.faults
    if gathering.distractions is None:
        faults.append(
            Problem("distractions", "The list of distractions is missing; write {n} texts.", n=N_DISTRACTIONS)
        )
    for kind, entries in gathering.entries.items():
        for entry in entries.values():
            where = f"{names[entry.last_source]}: {entry.key}"
            report_missing(FIELDS_OF_KIND[kind], entry.origins, where, faults, optional=OPTIONAL_OF_KIND[kind])
    behaviours = gathering.entries["behaviour"]
    faults.extend(behaviour_problems(behaviours, names))
    faults.extend(unwanted_problems(gathering.entries["unwanted"], behaviours, names))
