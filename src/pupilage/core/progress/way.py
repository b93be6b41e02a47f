"""What the pages, the command line and `explain` say of a behaviour's way and of a goal: one set of figures for all."""

from dataclasses import dataclass

from pupilage.core.catalogue.behaviour import Behaviour, Step
from pupilage.core.evaluation.celeration import Celeration
from pupilage.core.handover.places import PlaceCount
from pupilage.core.progress.course import Evening, StepChance
from pupilage.core.progress.days import DayLine
from pupilage.core.progress.passing import PassChance
from pupilage.core.progress.showings import Showing
from pupilage.core.training.posterior.belief import Belief
from pupilage.core.training.posterior.retention import Retention
from pupilage.core.training.thresholds.plane import Plane
from pupilage.core.words import Sentence


@dataclass(frozen=True)
class Way:
    """One behaviour's way. Without a try it has no days, and no figure but the steps.

    step: practised next; target: the goal's, or the catalogue's where it is no goal; today: a first try at `step`,
    cold; baseline: the cold tries before any training; met, missed: tries a minute in training, week by week;
    where_asked: the catalogue's places; places, people: by the names of the sessions; plane: as of this morning;
    retention: what would be left at `step` without practice; due_in_days: until it should be practised again, None
    before it is at its goal.
    """

    behaviour: Behaviour
    step: Step
    target: Step
    is_goal: bool
    days: tuple[DayLine, ...]
    evenings: tuple[Evening, ...]
    today: StepChance | None
    baseline: Belief | None
    met: Celeration | None
    missed: Celeration | None
    where_asked: tuple[PlaceCount, ...]
    places: tuple[Showing, ...]
    people: tuple[Showing, ...]
    plane: Plane | None
    retention: Retention | None
    due_in_days: int | None
    fall: Sentence | None

    @property
    def place(self) -> int:
        """The place of the step in practice, from 1."""
        return (self.behaviour.step_index(self.step.key) or 0) + 1

    @property
    def goal_place(self) -> int:
        """The place of the goal's step, from 1."""
        return (self.behaviour.step_index(self.target.key) or 0) + 1

    @property
    def n_trials(self) -> int:
        """Tries in all, void ones not counted."""
        return sum(line.n for line in self.days)


@dataclass(frozen=True)
class GoalProgress:
    """A goal. now, then: the chance of its test today and on the hand-over day, both None while the record is too thin.

    place, goal_place: of the step in practice and of the goal's, from 1. reason: behind the chance at the hand-over.
    """

    behaviour: Behaviour
    target: Step
    step: Step
    n_trials: int
    n_days: int
    now: PassChance | None
    then: PassChance | None
    due_in_days: int | None
    reason: Sentence

    @property
    def place(self) -> int:
        return (self.behaviour.step_index(self.step.key) or 0) + 1

    @property
    def goal_place(self) -> int:
        return (self.behaviour.step_index(self.target.key) or 0) + 1
