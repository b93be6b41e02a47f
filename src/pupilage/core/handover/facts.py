"""All that a hand-over pack says, as plain values: gathered by one service, printed in any language."""

from dataclasses import dataclass
from datetime import date, time

from pupilage.core.catalogue.behaviour import Behaviour, Step, UnwantedBehaviour
from pupilage.core.handover.places import PlaceCount, Standing
from pupilage.core.handover.weeks import Upkeep
from pupilage.core.words import Sentence


@dataclass(frozen=True)
class GoalFacts:
    """A behaviour of the stay. level: of the pay, in thinning.RATIOS; upkeep: None if it works nowhere."""

    behaviour: Behaviour
    target: Step
    places: tuple[PlaceCount, ...]
    n_trials: int
    days: tuple[date, date] | None
    level: int
    sure: bool
    upkeep: Upkeep | None

    @property
    def known(self) -> int | None:
        """The place in the list of the hardest step met where the behaviour works, None where it works nowhere."""
        steps = [
            self.behaviour.step_index(one.step) for one in self.places if one.step and one.standing is Standing.WORKS
        ]
        return max((place for place in steps if place is not None), default=None)

    @property
    def at_goal(self) -> bool:
        """Whether it works at its goal or beyond."""
        goal = self.behaviour.step_index(self.target.key) or 0
        return self.known is not None and self.known >= goal


@dataclass(frozen=True)
class OutingFacts:
    """Minutes between outings. weeks_min: awake, of each week to come; n_outings: of the log; risk: the one taken."""

    awake_min: int
    resting_min: int
    night_min: int
    weeks_min: tuple[int, ...]
    n_outings: int
    risk: float


@dataclass(frozen=True)
class AloneFacts:
    """Time alone. weeks_s: the longest of each week, None where there is to be none; longest_calm_s: None for none."""

    weeks_s: tuple[float | None, ...]
    n_absences: int
    longest_calm_s: float | None
    panicked: bool


@dataclass(frozen=True)
class FoodWeek:
    """A week's expected weight and grams a day; None where nobody can say."""

    weight_kg: float | None
    grams: float | None


@dataclass(frozen=True)
class FoodFacts:
    """The ration as it is fed. weighing: kilograms and day; caution: of a very small pup; weeks: those to come."""

    name: str
    daily_g: float | None
    n_meals: int
    weighing: tuple[float, date] | None
    caution: Sentence | None
    weeks: tuple[FoodWeek, ...]


@dataclass(frozen=True)
class UnwantedFacts:
    """An unwanted behaviour: what the standing plan, or the catalogue, arranges; n_lately: in the last 14 days."""

    unwanted: UnwantedBehaviour
    arrange: tuple[str, ...]
    replacement: Behaviour | None
    n_lately: int
    planned: bool


@dataclass(frozen=True)
class PackFacts:
    """What the pack says. outings, None at an age without a curve; house_rules, empty for the usual ones."""

    dog: str
    family: str
    trainer: str
    handover_on: date
    made_on: date
    goals: tuple[GoalFacts, ...]
    outings: OutingFacts | None
    alone: AloneFacts
    food: FoodFacts
    wake: time
    last_outing: time
    meals: tuple[time, ...]
    unwanted: tuple[UnwantedFacts, ...]
    residents: tuple[str, ...]
    vet_dates: tuple[tuple[date, str], ...]
    vet_phone: str
    poison_phone: str
    signs: str
    release_word: str
    house_rules: tuple[str, ...]
    note: str
