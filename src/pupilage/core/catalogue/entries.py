"""Entries: one behaviour or unwanted behaviour as the files give it, merged field by field over the sources.

The tables below are the whole schema of the files. Typed objects are built only after every check has passed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from pupilage.core.catalogue.behaviour import (
    Behaviour,
    Criterion,
    OutcomeWords,
    Place,
    Prompt,
    Scoring,
    Step,
    UnwantedBehaviour,
)
from pupilage.core.catalogue.values import (
    Reader,
    choice,
    list_of,
    number,
    read_flag,
    read_key,
    read_key_or_none,
    read_text,
    table_of,
    whole_number,
)

N_DISTRACTIONS = 6
MAX_DURATION_S = 86_400
MAX_DISTANCE_M = 1_000
MIN_LATENCY_S = 0.1
MAX_LATENCY_S = 3_600
MAX_AGE_WEEKS = 260
MAX_MAINTAIN_DAYS = 365

CRITERION_FIELDS: Mapping[str, Reader] = {
    "duration_s": number(0, MAX_DURATION_S),
    "distance_m": number(0, MAX_DISTANCE_M),
    "distraction": whole_number(0, N_DISTRACTIONS - 1),
    "place": choice(Place),
    "prompt": choice(Prompt),
    "latency_s": number(MIN_LATENCY_S, MAX_LATENCY_S),
}
STEP_FIELDS: Mapping[str, Reader] = {"key": read_key, "summary": read_text, **CRITERION_FIELDS}
OUTCOME_FIELDS: Mapping[str, Reader] = dict.fromkeys(("met", "missed", "helped", "void"), read_text)
BEHAVIOUR_FIELDS: Mapping[str, Reader] = {
    "name": read_text,
    "definition": read_text,
    "cue": read_text,
    "scoring": choice(Scoring),
    "prerequisites": list_of(read_key),
    "min_age_weeks": whole_number(0, MAX_AGE_WEEKS),
    "target": read_key,
    "maintain_every_days": whole_number(1, MAX_MAINTAIN_DAYS),
    "weight": whole_number(1, 5),
    "safety": list_of(read_text),
    "outcomes": table_of(OUTCOME_FIELDS),
    "steps": list_of(table_of(STEP_FIELDS, optional=frozenset({"latency_s"})), at_least=1),
    "always_paid": read_flag,
}
BEHAVIOUR_OPTIONAL = frozenset({"always_paid"})
UNWANTED_FIELDS: Mapping[str, Reader] = {
    "name": read_text,
    "definition": read_text,
    "arrange": list_of(read_text, at_least=1),
    "replacement": read_text,
    "replacement_behaviour": read_key_or_none,
    "record": list_of(read_text, at_least=1),
    "safety": list_of(read_text),
}
UNWANTED_OPTIONAL = frozenset({"replacement_behaviour"})


@dataclass
class Entry:
    """One key's fields, laid over each other from every source that names the key.

    values: the readable fields. origins: the source (an index; later is higher) of every field that is written
    anywhere, readable or not, so that a faulty field is not also called missing.
    """

    key: str
    values: dict[str, Any] = field(default_factory=dict)
    origins: dict[str, int] = field(default_factory=dict)
    last_source: int = 0

    def merge(self, table: Mapping[str, object], values: Mapping[str, Any], source: int) -> None:
        """Lay the fields of a later source over those that are here."""
        for name in table:
            self.values.pop(name, None)
            self.origins[name] = source
        self.values.update(values)
        self.last_source = source

    def origin(self, name: str) -> int:
        """Return the source that gave a field, or the last one that touched the entry."""
        return self.origins.get(name, self.last_source)


def build_behaviour(entry: Entry) -> Behaviour:
    """Return the behaviour of an entry that has passed every check."""
    values = dict(entry.values)
    return Behaviour(
        key=entry.key,
        steps=tuple(build_step(step) for step in values.pop("steps")),
        outcomes=OutcomeWords(**values.pop("outcomes")),
        **values,
    )


def build_step(values: Mapping[str, Any]) -> Step:
    """Return the step of a table that has passed every check; a latency left out does not matter."""
    criterion = Criterion(**{name: values.get(name) for name in CRITERION_FIELDS})  # type: ignore[arg-type]
    return Step(key=values["key"], summary=values["summary"], criterion=criterion)


def build_unwanted(entry: Entry) -> UnwantedBehaviour:
    """Return the unwanted behaviour of an entry that has passed every check."""
    replacement_behaviour = entry.values.get("replacement_behaviour") or None
    return UnwantedBehaviour(**{**entry.values, "key": entry.key, "replacement_behaviour": replacement_behaviour})
