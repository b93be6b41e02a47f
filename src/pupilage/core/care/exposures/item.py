"""What there is to meet: the types that the data is loaded into, and what the veterinarian decides."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

LEAST_INTENSITY = 1
MOST_INTENSITY = 5
STRONG_INTENSITY = 4
"""From here on an item that is new at this intensity counts as a strong thing (common practice, no source)."""


class ExposureGroup(StrEnum):
    """What kind of thing is met. Stored values are fixed for good."""

    PEOPLE = "people"
    DOGS = "dogs"
    SURFACES = "surfaces"
    SOUNDS = "sounds"
    HANDLING = "handling"
    PLACES = "places"
    VEHICLES = "vehicles"


class VetTopic(StrEnum):
    """What waits for the veterinarian's word. Stored values are fixed for good."""

    GROUND = "ground"
    """Ground on which dogs of unknown vaccination walk."""
    DOGS = "dogs"
    """Dogs from other homes."""
    PUPPIES = "puppies"
    """Meetings and classes of puppies."""


@dataclass(frozen=True)
class ExposureItem:
    """One thing to meet.

    begin: how to begin at the lowest intensity; watch: what to look out for; target: the intensity (1 to 5) of a
    family's daily life; weight: 1 to 5, how much it matters there; minutes: of one meeting.
    first_m, nearest_m: the distance to begin at and the nearest that is wanted, None where distance says nothing.
    strong: much even when faint, so not more than one new such thing a day.
    vet_topic: what the veterinarian has to say yes to first, None where nothing; until_then: what can be done before.
    """

    key: str
    group: ExposureGroup
    name: str
    begin: str
    watch: str
    target: int
    weight: int
    minutes: int
    first_m: float | None = None
    nearest_m: float | None = None
    strong: bool = False
    vet_topic: VetTopic | None = None
    until_then: str = ""


@dataclass(frozen=True)
class ExposureCatalogue:
    """Everything to meet, by key, group by group in the order of `ExposureGroup`."""

    items: Mapping[str, ExposureItem]

    def find(self, key: str) -> ExposureItem | None:
        """Return the item of a key, or None."""
        return self.items.get(key)
