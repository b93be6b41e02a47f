"""An incident: what came before, what the dog did, what it got out of it."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Incident:
    """One unwanted event. `at` is aware UTC; `behaviour` is the key of an unwanted behaviour.

    people_did holds what people did, honestly: a correction that happened is written here, never planned.
    """

    id: str
    behaviour: str
    at: datetime
    place: str = ""
    antecedent: str = ""
    consequence: str = ""
    people_did: str = ""
    supervised: bool = True
    note: str = ""
