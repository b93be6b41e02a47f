"""What can be taught, and what must be prevented: the types that the catalogue's data is loaded into."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Place(StrEnum):
    """Where a step is practised, from the easiest place to the hardest. Stored values are fixed for good."""

    QUIET_ROOM = "quiet-room"
    HOME = "home"
    GARDEN = "garden"
    QUIET_STREET = "quiet-street"
    BUSY_PLACE = "busy-place"
    NEW_PLACE = "new-place"


class Prompt(StrEnum):
    """The help that comes with the cue, from most to least. Stored values are fixed for good."""

    LURE = "lure"
    TARGET = "target"
    GESTURE = "gesture"
    CUE = "cue"
    NONE = "none"


class Scoring(StrEnum):
    """How one try is scored: as a trial (met or not) or as a hold (seconds until the break or the release)."""

    TRIAL = "trial"
    HOLD = "hold"


@dataclass(frozen=True)
class Criterion:
    """What counts as correct at a step, along the dimensions that are changed one at a time.

    duration_s: seconds the behaviour is to last (0 when it is over at once).
    distance_m: metres between the dog and the person.
    distraction: 0 to 5, anchored in `Catalogue.distractions`: the strongest thing that happens during the try,
    apart from what the exercise itself needs.
    latency_s: most seconds from the end of the cue to the start of the behaviour; None when it does not matter.
    """

    duration_s: float
    distance_m: float
    distraction: int
    place: Place
    prompt: Prompt
    latency_s: float | None


@dataclass(frozen=True)
class Step:
    """One step of a behaviour. `key` is unique inside the behaviour and never reused for another meaning."""

    key: str
    summary: str
    criterion: Criterion


@dataclass(frozen=True)
class OutcomeWords:
    """What the four outcomes of a trial mean for this behaviour, in words two people would score alike."""

    met: str
    missed: str
    helped: str
    void: str


@dataclass(frozen=True)
class Behaviour:
    """A behaviour a family needs from a young dog.

    steps run from the first approximation to the household level, and sometimes one beyond it; `target` is the
    key of the step that the hand-over asks for; `maintain_every_days` says how often it needs practice after that;
    `weight` (1 to 5) says how much it matters to a family when nobody has said otherwise; `always_paid` marks what is
    rewarded every time, however sure it is.
    """

    key: str
    name: str
    definition: str
    cue: str
    scoring: Scoring
    prerequisites: tuple[str, ...]
    min_age_weeks: int
    steps: tuple[Step, ...]
    outcomes: OutcomeWords
    target: str
    maintain_every_days: int
    safety: tuple[str, ...]
    weight: int
    always_paid: bool = False

    def step(self, key: str) -> Step | None:
        """Return the step of this key, or None."""
        return next((step for step in self.steps if step.key == key), None)

    def step_index(self, key: str) -> int | None:
        """Return the place of the step in the order, from 0, or None."""
        return next((i for i, step in enumerate(self.steps) if step.key == key), None)


@dataclass(frozen=True)
class UnwantedBehaviour:
    """A behaviour to prevent: what to arrange beforehand, what replaces it, what to record."""

    key: str
    name: str
    definition: str
    arrange: tuple[str, ...]
    replacement: str
    replacement_behaviour: str | None
    record: tuple[str, ...]
    safety: tuple[str, ...]


@dataclass(frozen=True)
class Catalogue:
    """All that can be taught and prevented, in the order of the data.

    distractions: six sentences, one for each number from 0 to 5.
    """

    behaviours: Mapping[str, Behaviour]
    unwanted: Mapping[str, UnwantedBehaviour]
    distractions: tuple[str, ...]

    def find_behaviour(self, key: str) -> Behaviour | None:
        """Return the behaviour of this key, or None."""
        return self.behaviours.get(key)

    def find_unwanted(self, key: str) -> UnwantedBehaviour | None:
        """Return the unwanted behaviour of this key, or None."""
        return self.unwanted.get(key)
