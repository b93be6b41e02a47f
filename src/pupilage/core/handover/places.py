"""Where a behaviour works today and where not yet, counted from the tries."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.catalogue.behaviour import Behaviour, Place
from pupilage.core.training.record.evidence import Outcome, Trial

LATELY = 20
"""Only so many of the newest tries at a place are counted: what a pup did weeks ago is not what it does today."""

LEAST = 10
RELIABLE = 0.8
"""It works at a place when 8 of 10 newest tries or more were met there (80 % of 10 is common practice)."""

FEW = 5


class Standing(StrEnum):
    """How a behaviour stands at a place."""

    WORKS = "works"
    UNSURE = "unsure"
    FEW = "few"
    NEVER = "never"


@dataclass(frozen=True)
class PlaceCount:
    """The newest tries at a place: n_met of n; step, the hardest step met there, "" without one."""

    place: Place
    n_met: int
    n: int
    step: str = ""

    @property
    def standing(self) -> Standing:
        """What the count says, with no more certainty than it has."""
        if self.n == 0:
            return Standing.NEVER
        if self.n < FEW:
            return Standing.FEW
        return Standing.WORKS if self.n >= LEAST and self.n_met >= RELIABLE * self.n else Standing.UNSURE


def count_by_place(behaviour: Behaviour, target: str, trials: Sequence[Trial]) -> tuple[PlaceCount, ...]:
    """Return the newest tries at every place that the way to a goal asks for, the easiest place first.

    Parameters: target, the key of the goal's step; trials of the behaviour in time order. A void try is not counted; a
    helped one counts as not met. A place beyond the goal is in it only when something was tried there.
    """
    goal = behaviour.step_index(target)
    asked = {step.criterion.place for step in behaviour.steps[: None if goal is None else goal + 1]}
    scored = [trial for trial in trials if trial.outcome is not Outcome.VOID]
    tried = {step.criterion.place for trial in scored if (step := behaviour.step(trial.step)) is not None}
    return tuple(_count(behaviour, place, scored) for place in Place if place in asked | tried)


def _count(behaviour: Behaviour, place: Place, scored: Sequence[Trial]) -> PlaceCount:
    steps = {step.key for step in behaviour.steps if step.criterion.place is place}
    newest = [trial for trial in scored if trial.step in steps][-LATELY:]
    met = [trial for trial in newest if trial.outcome is Outcome.MET]
    return PlaceCount(place, len(met), len(newest), _hardest(behaviour, met))


def _hardest(behaviour: Behaviour, met: Iterable[Trial]) -> str:
    places = [place for trial in met if (place := behaviour.step_index(trial.step)) is not None]
    return behaviour.steps[max(places)].key if places else ""
