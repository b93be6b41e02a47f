"""Our policy: the index of one more session, averaged over what can be believed of each dog, at its best level."""

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.appraisal import Appraisal
from pupilage.core.simulation.worlds.beliefs import Beliefs
from pupilage.core.simulation.worlds.cells import WANDERING
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.reasons import Choice, Why
from pupilage.core.simulation.worlds.regimes import N_LEVELS, Whole, World
from pupilage.core.simulation.worlds.season import Observation, Outcomes, tiredness
from pupilage.core.simulation.worlds.season_values import SeasonValues
from pupilage.core.training.worth.allocation import NONE, best_behaviour, session_index

HARMLESS = 2e-4
"""Goals: a session that is believed to cost less than this does no harm."""

SURE = 0.99
"""How certain the way of learning must be before a session that seems to harm is left out."""

WANDERS, GENTLE_P = 0.25, 0.65
"""From this weight of the wandering kind on, a step is one where a try succeeds with this chance, if there is any."""


class Planner:
    """A batch policy. See the module; `values` are tables of this regime, with the mean weariness of a day."""

    def __init__(self, values: SeasonValues, world: World, n: int, spacing_index: Whole, goal: Whole) -> None:
        self.n = n
        self.beliefs = Beliefs(world, n, spacing_index)
        self.appraisal = Appraisal(values, self.beliefs, goal)
        self.why: NDArray[np.object_] = np.full(n, Why.REST, dtype=object)
        self.gain = np.zeros(n)
        self.chosen: tuple[Whole, Whole] = (np.full(n, NONE), np.zeros(n, dtype=np.int64))

    def new_day(self, day: int) -> None:
        """Let the night pass, set the day's price, and look at every behaviour."""
        if day:
            self.beliefs.night()
        self.appraisal.new_day(day)

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Return the behaviour with the largest index, at its best level. The reasons: `choice`."""
        by_level, rest = self.appraisal.next_block(observation)
        behaviour = observation.running
        self.why[:] = Why.GOES_ON
        if observation.block == 0:
            behaviour = self._behaviour(observation, by_level, rest)
        best: Whole = by_level[np.arange(self.n), np.maximum(behaviour, 0)].argmax(-1)
        level = self._gentle(observation, behaviour, best)
        self.why[level < best] = Why.GENTLE
        self.why[behaviour < 0] = Why.REST
        self.chosen = (behaviour, level)
        return self.chosen

    def choice(self, dog: int) -> Choice:
        """Return the last choice for one dog, with its reason."""
        behaviour, level = (int(x[dog]) for x in self.chosen)
        if behaviour < 0:
            return Choice(0, 0, Why.REST, 0.0)
        return Choice(behaviour + 1, level + 1, self.why[dog], float(self.gain[dog]))

    def _behaviour(self, observation: Observation, by_level: Array, rest: Array) -> Whole:
        """Return what to train; −1 where every session would harm a dog whose way of learning is known."""
        index = session_index(by_level, rest, self.appraisal.price) + HARMLESS
        unsure = np.delete(self.beliefs.kinds(), WANDERING, axis=1).max(1) < SURE
        self.gain = np.where(observation.allowed, index, -np.inf).max(1) - HARMLESS
        self.why[:] = Why.WORTH_MOST
        self.why[unsure & (self.gain < -HARMLESS)] = Why.UNSURE
        lift = np.where(unsure, 1e-6 - np.minimum(0.0, index.min(1)), 0.0)
        return best_behaviour(index + lift[:, None], observation.allowed, observation.sessions_today)

    def _gentle(self, observation: Observation, behaviour: Whole, level: Whole) -> Whole:
        """Return the level, lowered for dogs that learn like none of the three families to where most tries succeed."""
        wanders = self.beliefs.kinds()[:, WANDERING] > WANDERS
        rows = np.flatnonzero(wanders & (behaviour >= 0) & observation.happens)
        if not len(rows):
            return level
        at = (rows, behaviour[rows])
        tired = tiredness(observation.block, observation.sessions_today[at], observation.sessions_today[rows].sum(1))
        likely = self.beliefs.predicted(at, tired) >= GENTLE_P
        hardest = np.where(likely.any(1), N_LEVELS - 1 - likely[:, ::-1].argmax(1), 0)
        gentle = level.copy()
        gentle[rows] = np.minimum(level[rows], hardest)
        return gentle

    def observe(self, outcomes: Outcomes) -> None:
        """Take in a block and look again at the behaviours it concerned."""
        if not len(outcomes.rows):
            return
        self.beliefs.observe(outcomes)
        self.appraisal.look_again(outcomes.rows, outcomes.behaviour)
