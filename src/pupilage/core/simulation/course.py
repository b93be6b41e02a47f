"""A behaviour as the scenario's trainer teaches it: at which step, with which pup's learner, and when to move."""

from dataclasses import dataclass

from numpy.random import Generator

from pupilage.core.catalogue.behaviour import Behaviour, Scoring, Step
from pupilage.core.simulation.chance import between
from pupilage.core.simulation.learner import Learner

LONGEST_HOLD_S = 120.0
"""The scenario's trainer asks nothing longer of a pup of ten weeks in one sitting (own choice)."""

SHORTEST_TARGET_S = 0.3
P_RAISE = 0.8
P_LOWER = 0.4


@dataclass(frozen=True)
class Traits:
    """What makes a behaviour easy or hard for this pup.

    skill: logits on arrival. rate, half_life_days: as in `Learner`. spacing: logits from step to step.
    wall: (index, logits), a step from which everything is harder than the order of steps says.
    share: how often it is chosen, against the others. from_day: the first day number on which it is taught.
    first_step: index of the probed step.
    """

    skill: float
    rate: float
    spacing: float = 0.6
    half_life_days: float = 9.0
    wall: tuple[int, float] | None = None
    share: float = 1.0
    from_day: int = 2
    first_step: int = 1
    reinforcer: str = "kibble"


@dataclass
class Course:
    """One behaviour on its way: the trainer's step, the pup's state, and the day number of the last session."""

    behaviour: Behaviour
    traits: Traits
    learner: Learner
    step_index: int
    last_day: int = 0

    @property
    def step(self) -> Step:
        """The step at which the behaviour is practised now."""
        return self.behaviour.steps[self.step_index]

    @property
    def timed(self) -> bool:
        """Whether a try is a hold."""
        return self.behaviour.scoring is Scoring.HOLD

    @property
    def target_s(self) -> float:
        """The seconds that a hold is asked for."""
        return max(SHORTEST_TARGET_S, self.step.criterion.duration_s)

    @property
    def difficulty(self) -> float:
        """The difficulty of the present step, in logits."""
        wall_index, wall = self.traits.wall or (len(self.behaviour.steps), 0.0)
        return self.traits.spacing * self.step_index + (wall if self.step_index >= wall_index else 0.0)

    def judge(self, n_met: int, n_tried: int) -> bool:
        """Move a step up at four of five or better, down at two of five or worse. Returns whether it moved.

        The common sets of five, and what the scenario's trainer does; not the rule that the software advises.
        """
        share_met = n_met / n_tried
        wanted = self.step_index + (share_met >= P_RAISE) - (share_met <= P_LOWER)
        return self._move_to(wanted)

    def _move_to(self, wanted: int) -> bool:
        index = min(max(wanted, 0), len(self.behaviour.steps) - 1)
        if self.timed and self.behaviour.steps[index].criterion.duration_s > LONGEST_HOLD_S:
            index = min(index, self.step_index)
        moved = index != self.step_index
        self.step_index = index
        return moved


def begin_course(behaviour: Behaviour, traits: Traits, rng: Generator) -> Course:
    """Return the course of a behaviour on arrival, with a little luck of the draw in the pup's gifts."""
    learner = Learner(
        skill=traits.skill + between(rng, -0.25, 0.25),
        rate=traits.rate * between(rng, 0.85, 1.2),
        half_life_days=traits.half_life_days,
    )
    first = min(traits.first_step, len(behaviour.steps) - 1)
    return Course(behaviour, traits, learner, first)
