"""What no policy can beat, and what a trainer who knows everything but luck would get: bound, all-seeing, fair.

The bound is proven (`values`), the two others are reached by a policy: the optimum of one who sees everything lies
between the all-seeing policy and the bound. Nothing of it is known for dogs outside the three families.
"""

from dataclasses import dataclass, field

import numpy as np

from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.laws import FORMS, P_FORMS, Array
from pupilage.core.simulation.worlds.regimes import (
    BLOCK,
    GOAL_LEVELS,
    N_DAYS,
    N_LEVELS,
    PREREQUISITE_LEVEL,
    Chance,
    Dogs,
    Flags,
    Truth,
    Whole,
    World,
)
from pupilage.core.simulation.worlds.season import Observation, Outcomes, tiredness
from pupilage.core.simulation.worlds.season_values import Place, SeasonValues
from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth.allocation import balanced_price, best_behaviour, session_index
from pupilage.core.training.worth.values import DayValues, bound_of

FAMILY_OF = {Truth.RW: Family.TOWARD_LEVEL, Truth.PFA: Family.PER_SUCCESS, Truth.BKT: Family.BY_LEVELS}


DELAY_DAYS = 2
"""A behaviour that waits for another is worth so many days' delay of its value to the block that may open it."""


def is_waiting(observation: Observation, behaviour: int) -> Flags:
    """Return for which dogs a behaviour is still closed by its prerequisite."""
    closed: Flags = ~observation.allowed[:, behaviour] & (observation.sessions_today[:, behaviour] == 0)
    return closed


def p_shown(p: Array) -> Array:
    """Return the chance of 4 or more of 5, which opens what waits."""
    chance: Array = p**4 * (5.0 - 4.0 * p)
    return chance


def true_place(values: SeasonValues, family: Family, kennel: Kennel) -> Place:
    """Return where every dog's behaviours truly stand."""
    dogs = kennel.dogs
    grid = values.states(family)
    if family is Family.BY_LEVELS:
        state, part = kennel.mastered, np.zeros(kennel.mastered.shape)
    else:
        at = np.clip((kennel.skill - grid[0]) / (grid[1] - grid[0]), 0.0, len(grid) - 1.0)
        state = np.minimum(at.astype(np.int64), len(grid) - 2)
        part = at - state
    goal = np.searchsorted(GOAL_LEVELS, dogs.goal)
    return Place(dogs.spacing_index, dogs.rate_index, goal, kennel.stretch, state, part)


def lagrange_bound(values: SeasonValues, world: World, dogs: Dogs, chance: Chance) -> Array:
    """Return the upper bound (N,) on the goals that any policy can expect with these dogs and these missed sessions.

    values: of this world with worn = 0. Prerequisites and weariness from earlier sessions only lower what can be had.
    """
    family = FAMILY_OF[world.truth]
    place = true_place(values, family, Kennel(world, dogs, chance))
    by_price = place.read(values.mornings[family], (0,), slice(None)).sum(1)
    n_sessions = (~chance.missed).sum((1, 2)).astype(np.float64)
    return bound_of(by_price, values.prices, n_sessions)


@dataclass
class KnowingPolicy:
    """The index policy of one who knows every dog's state and parameters; `sees_form` also the day's form.

    Without it the form is believed at its prior in the morning and learnt from the day's blocks: a trainer cannot
    know it beforehand (the fair ceiling).
    """

    values: SeasonValues
    world: World
    sees_form: bool
    kennel: Kennel = field(init=False)

    def attach(self, kennel: Kennel) -> None:
        """See the dogs themselves: what no trainer can."""
        self.kennel = kennel
        self.family = FAMILY_OF[self.world.truth]

    def new_day(self, day: int) -> None:
        """Set the day's price and forget yesterday's form."""
        self.today: DayValues = self.values.day(self.family, day)
        place = true_place(self.values, self.family, self.kennel)
        table = self.values.mornings[self.family]
        by_price = place.read(table, (day,), slice(None))
        later = place.read(table, (min(N_DAYS, day + DELAY_DAYS),), slice(None))
        morning = by_price.sum(1)
        left = (N_DAYS - day) * self.world.regime.capacity * (1.0 - self.world.p_missed)
        at = balanced_price(morning, self.values.prices, np.full(len(morning), left))
        self.price = np.minimum(at.astype(np.int64), len(self.values.prices) - 2)
        self.beyond = at - self.price
        n = self.kennel.dogs.n
        worth = by_price - later
        below, above = (np.take_along_axis(worth, self.price[:, None, None] + one, axis=2)[:, :, 0] for one in (0, 1))
        self.delay_cost = self._between(below, above)
        self.form = np.tile(np.asarray(P_FORMS), (n, 1))
        if self.sees_form:
            self.form = (self.kennel.chance.form[:, day, None] == np.asarray(FORMS)).astype(np.float64)

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Return the behaviour with the largest index, at its best level."""
        by_level, rest = self._believed(observation)
        behaviour = observation.running
        by_level += self._opening(observation)
        if observation.block == 0:
            prices = self.values.prices
            price = np.interp(self.price + self.beyond, np.arange(len(prices)), prices)
            index = session_index(by_level, rest, price)
            behaviour = best_behaviour(index, observation.allowed, observation.sessions_today)
        level: Whole = by_level[np.arange(len(self.price)), np.maximum(behaviour, 0)].argmax(-1)
        self._foresee(observation, behaviour, level)
        return behaviour, level

    def _believed(self, observation: Observation) -> tuple[Array, Array]:
        """Return the believed values (N, B, levels) of the next block, and of no more today (N, B)."""
        place = true_place(self.values, self.family, self.kennel)
        session = np.minimum(observation.sessions_today, 1)

        def at_price(table: Array, *front: Whole | int) -> Array:
            price = np.broadcast_to(self.price[:, None], session.shape)
            return self._between(*(place.read(table, front, price + one) for one in (0, 1)))

        n_levels = self.today.session.shape[5]
        by_level = np.zeros((*session.shape, n_levels))
        for form in range(len(FORMS)):
            for level in range(n_levels):
                seen = at_price(self.today.session, session, observation.block, form, level)
                by_level[:, :, level] += self.form[:, form, None] * seen
        return by_level, at_price(self.today.evening)

    def _between(self, below: Array, above: Array) -> Array:
        """Return figures (N, …) at the dogs' prices from those at the listed prices about them."""
        part = self.beyond.reshape(-1, *(1,) * (below.ndim - 1))
        value: Array = below * (1.0 - part) + above * part
        return value

    def _opening(self, observation: Observation) -> Array:
        """Return what a block at each level is worth for the behaviours that wait for it: (N, B, levels)."""
        bonus = np.zeros((*observation.allowed.shape, N_LEVELS))
        rows = np.arange(len(bonus))
        for waiting, needs in self.world.prerequisites:
            gain = np.where(is_waiting(observation, waiting), self.delay_cost[:, waiting], 0.0)
            tired = tiredness(
                observation.block, observation.sessions_today[:, needs], observation.sessions_today.sum(1)
            )
            for level in range(PREREQUISITE_LEVEL, N_LEVELS):
                column, levels = np.full(len(rows), needs), np.full(len(rows), level)
                for i, form in enumerate(FORMS):
                    p = self.kennel.p(rows, column, levels, form=np.full(len(rows), form), tired=tired)
                    bonus[:, needs, level] += gain * self.form[:, i] * p_shown(p)
        return bonus

    def _foresee(self, observation: Observation, behaviour: Whole, level: Whole) -> None:
        """Keep what each form would make of the coming block, before the dog learns from it."""
        rows, column = np.arange(len(behaviour)), np.maximum(behaviour, 0)
        tired = tiredness(
            observation.block, observation.sessions_today[rows, column], observation.sessions_today.sum(1)
        )
        forms = [self.kennel.p(rows, column, level, form=np.full(len(rows), form), tired=tired) for form in FORMS]
        self.chances = np.stack(forms, axis=1)

    def observe(self, outcomes: Outcomes) -> None:
        """Learn the day's form from the block."""
        if self.sees_form:
            return
        p, k = self.chances[outcomes.rows], outcomes.n_met[:, None]
        posterior = self.form[outcomes.rows] * p**k * (1.0 - p) ** (BLOCK - k)
        self.form[outcomes.rows] = posterior / posterior.sum(1, keepdims=True)
