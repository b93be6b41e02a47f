"""The rules that trainers go by: sets of five, or eight of ten, behaviour after behaviour, with or without skipping.

Sets of five: up at 4 or 5 met, down at 2 or fewer. Eight of ten: two blocks at the level, up at 8, down at 5 or fewer.
Source: common practice, no source.
"""

from dataclasses import dataclass, field

import numpy as np

from pupilage.core.simulation.worlds.regimes import N_BEHAVIOURS, N_LEVELS, Flags, Whole
from pupilage.core.simulation.worlds.season import REST, Observation, Outcomes


@dataclass
class FixedRule:
    """Round robin over the behaviours; `block` trials a judgement are 5 or 10; `skip` leaves out what has passed."""

    n: int
    trials: int = 5
    skip: bool = False
    level: Whole = field(init=False)

    def __post_init__(self) -> None:
        size = (self.n, N_BEHAVIOURS)
        self.level = np.zeros(size, dtype=np.int64)
        self.pending = np.full(size, -1)
        self.passed: Flags = np.zeros(size, dtype=bool)
        self.last_turn = np.tile(np.arange(N_BEHAVIOURS) - N_BEHAVIOURS, (self.n, 1))
        self.turn = 0
        self.goal: Whole = np.zeros(size, dtype=np.int64)

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Return the behaviour that has waited longest, at its level."""
        self.goal = observation.goal
        behaviour = observation.running if observation.block else self._next(observation)
        level = self.level[np.arange(self.n), np.maximum(behaviour, 0)]
        return behaviour, level

    def _next(self, observation: Observation) -> Whole:
        open_ = observation.allowed.copy()
        if self.skip:
            left = open_ & ~self.passed
            open_ = np.where(np.any(left, axis=1, keepdims=True), left, open_)
        wait = np.where(open_, self.last_turn, np.iinfo(np.int64).max)
        return np.where(open_.any(1), wait.argmin(1), REST)

    def observe(self, outcomes: Outcomes) -> None:
        """Judge the block, or keep it until ten trials are there."""
        at = (outcomes.rows, outcomes.behaviour)
        self.turn += 1
        self.last_turn[at] = self.turn
        if self.trials == 5:
            self._move(at, outcomes.level, outcomes.n_met >= 4, outcomes.n_met <= 2)
            return
        first = self.pending[at]
        full = (first >= 0) & (outcomes.level == self.level[at])
        total = first + outcomes.n_met
        self._move(at, outcomes.level, full & (total >= 8), full & (total <= 5))
        self.pending[at] = np.where(full, -1, outcomes.n_met)

    def _move(self, at: tuple[Whole, Whole], level: Whole, up: Flags, down: Flags) -> None:
        """Go on from the level that was trained, whoever chose it."""
        goal = self.goal[at]
        self.passed[at] |= up & (level >= goal)
        self.level[at] = np.clip(level + up - down, 0, np.minimum(goal, N_LEVELS - 1))


FIXED_RULES = {
    "sets of five, round robin": (5, False),
    "eight of ten, round robin": (10, False),
    "sets of five, skip done": (5, True),
    "eight of ten, skip done": (10, True),
}


def fixed_rules(n: int) -> dict[str, FixedRule]:
    """Return the four fixed rules, fresh, for n dogs."""
    return {name: FixedRule(n, trials, skip) for name, (trials, skip) in FIXED_RULES.items()}
