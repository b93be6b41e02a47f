"""A trainer who follows a policy only most of the time, and otherwise does as always."""

from dataclasses import dataclass

import numpy as np

from pupilage.core.simulation.worlds.fixed_rules import FixedRule
from pupilage.core.simulation.worlds.regimes import Flags, Whole
from pupilage.core.simulation.worlds.season import BatchPolicy, Observation, Outcomes


@dataclass
class Following:
    """A policy followed in the sessions of `follows` (N, days, sessions a day), `habit` in the others.

    Both see all that comes of every block, whoever chose it; `habit` goes on from the level that was trained.
    """

    policy: BatchPolicy
    habit: FixedRule
    follows: Flags

    def new_day(self, day: int) -> None:
        """Tell the policy of the morning."""
        new_day = getattr(self.policy, "new_day", None)
        if new_day is not None:
            new_day(day)

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Return the policy's choice for the dogs whose trainer follows in this session, the habit's for the others."""
        ours, usual = self.policy.choose(observation), self.habit.choose(observation)
        follows = self.follows[:, observation.day, observation.slot]
        return np.where(follows, ours[0], usual[0]), np.where(follows, ours[1], usual[1])

    def observe(self, outcomes: Outcomes) -> None:
        """Tell both."""
        self.policy.observe(outcomes)
        self.habit.observe(outcomes)
