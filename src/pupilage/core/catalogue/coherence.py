"""Checks that need more than one field: steps against target and scoring, behaviours against each other."""

from collections.abc import Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from typing import Any

from pupilage.core.catalogue.behaviour import Scoring
from pupilage.core.catalogue.entries import Entry
from pupilage.core.errors import Problem


def behaviour_problems(entries: Mapping[str, Entry], names: Sequence[str]) -> Iterator[Problem]:
    """Yield what does not fit within and between the behaviours; `names` are those of the sources."""
    for entry in entries.values():
        yield from step_problems(entry, names)
        yield from prerequisite_problems(entry, entries, names)
    for cycle in prerequisite_cycles(entries):
        blamed = max((entries[key] for key in cycle), key=lambda entry: entry.origin("prerequisites"))
        yield Problem(
            place_of(blamed, "prerequisites", names),
            "These need each other in a circle: {circle}; take one prerequisite out.",
            circle=" → ".join(cycle),
        )


def unwanted_problems(
    unwanted: Mapping[str, Entry], behaviours: Mapping[str, Entry], names: Sequence[str]
) -> Iterator[Problem]:
    """Yield the unwanted behaviours whose replacement is not in the catalogue."""
    for entry in unwanted.values():
        replacement = entry.values.get("replacement_behaviour")
        if replacement and replacement not in behaviours:
            yield Problem(
                place_of(entry, "replacement_behaviour", names),
                "There is no behaviour “{given}”; use the key of one, or leave this field out.",
                given=replacement,
            )


def place_of(entry: Entry, field: str, names: Sequence[str]) -> str:
    """Return where a field of an entry stands, as "file: key.field"."""
    return f"{names[entry.origin(field)]}: {entry.key}.{field}"


def step_problems(entry: Entry, names: Sequence[str]) -> Iterator[Problem]:
    """Yield what is wrong among the steps of one behaviour."""
    steps: Sequence[Mapping[str, Any]] = entry.values.get("steps", ())
    where = place_of(entry, "steps", names)
    keys = [step.get("key") for step in steps]
    for i, key in enumerate(keys, start=1):
        if key is not None and key in keys[: i - 1]:
            yield Problem(f"{where}.{i}.key", "The step key “{key}” is used twice; give each its own.", key=key)
    if entry.values.get("scoring") is Scoring.HOLD:
        for i, step in enumerate(steps, start=1):
            if step.get("duration_s") == 0:
                yield Problem(
                    f"{where}.{i}.duration_s",
                    "A hold is timed, so 0 seconds cannot be its target; write the seconds to hold, such as 0.5.",
                )
    target = entry.values.get("target")
    if target is not None and keys and None not in keys and target not in keys:
        yield Problem(
            place_of(entry, "target", names),
            "“{target}” is not a step of this behaviour; use one of: {steps}.",
            target=target,
            steps=", ".join(key for key in keys if key),
        )


def prerequisite_problems(entry: Entry, entries: Mapping[str, Entry], names: Sequence[str]) -> Iterator[Problem]:
    """Yield the prerequisites of one behaviour that are not in the catalogue."""
    for key in entry.values.get("prerequisites", ()):
        if key not in entries:
            yield Problem(
                place_of(entry, "prerequisites", names),
                "There is no behaviour “{given}”; use the key of one, or take it out.",
                given=key,
            )


def prerequisite_cycles(entries: Mapping[str, Entry]) -> list[list[str]]:
    """Return circles of prerequisites, each as keys that begin and end alike; none is left out unbroken."""
    graph = {
        key: [needed for needed in entry.values.get("prerequisites", ()) if needed in entries]
        for key, entry in entries.items()
    }
    cycles: list[list[str]] = []
    while True:
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            cycle: list[str] = error.args[1]
            cycles.append(cycle)
            graph[cycle[1]] = []  # cut this circle, so that the next round finds another
        else:
            return cycles
