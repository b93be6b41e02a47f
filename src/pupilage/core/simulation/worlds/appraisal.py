"""What a block at every level is worth today for every behaviour, averaged over what is believed of the dogs.

The price of a session is set every morning, from the worth of all behaviours and the sessions left. Values know the
exponential law of forgetting; the power law borrows them, and a skill that wanders those of learning per success,
whose best step is one where three tries in four succeed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.beliefs import Beliefs
from pupilage.core.simulation.worlds.ceilings import DELAY_DAYS, is_waiting
from pupilage.core.simulation.worlds.cells import N_LAWS, N_MODELS, N_SKILL_MODELS
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.opening import shown_tables
from pupilage.core.simulation.worlds.regimes import (
    GOAL_LEVELS,
    N_BEHAVIOURS,
    N_DAYS,
    N_LEVELS,
    PREREQUISITE_LEVEL,
    SPACINGS,
    Whole,
)
from pupilage.core.simulation.worlds.season import Observation
from pupilage.core.simulation.worlds.season_values import N_CHOICES, SeasonValues
from pupilage.core.training.posterior.learners import FORMS, Family
from pupilage.core.training.worth.allocation import balanced_price
from pupilage.core.training.worth.unseen_levels import onto_lattice

Small = NDArray[np.float32]

FAMILIES: tuple[Family, ...] = tuple(
    kind
    for kind in (Family.TOWARD_LEVEL, Family.PER_SUCCESS, Family.PER_SUCCESS, Family.BY_LEVELS)
    for _ in range(N_LAWS)
)
"""Of each model, in the order of the beliefs."""

COUNTED_ON = np.array([0.9, 1.15, 0.9, 0.9])
"""Share of the sessions left that the price counts on, by way of learning. Values take it that tomorrow all will be
known, so the price is not quite the one that balances; chosen on simulated dogs of seeds 7 and 8, not derived."""

LEAST_PRICE = 1
"""Place of the lowest price: sessions are never believed to be worth nothing, for then today's would not matter."""


@dataclass(frozen=True)
class Believed:
    """What is believed of n behaviours, ready for the tables: skills (n, forms, 6, cells), levels and shown.

    levels (n, forms, 2, cells), over the lattice of `unseen_levels`; by_skill (n, forms, 6, skills) and by_level
    (n, forms, 2, mastered levels), summed over rates and half-lives.
    """

    skills: Small
    levels: Small
    by_skill: Small
    by_level: Small

    def of_model(self, model: int) -> Small:
        """Return the mass (n, forms, cells) of one of the eight models."""
        return self.skills[:, :, model] if model < N_SKILL_MODELS else self.levels[:, :, model - N_SKILL_MODELS]

    def states_of_model(self, model: int) -> Small:
        """Return the mass (n, forms, states) of one of the eight models."""
        return self.by_skill[:, :, model] if model < N_SKILL_MODELS else self.by_level[:, :, model - N_SKILL_MODELS]


def believed_of(beliefs: Beliefs, rows: Whole, behaviour: Whole, n_forms: int) -> Believed:
    """Return what is believed of these behaviours; one form stands for all where the day has not begun for them."""
    at = (rows, behaviour, slice(n_forms))
    skills = np.moveaxis(beliefs.skills[at], 4, 3)
    levels = beliefs.mastery[at]
    n = len(rows)
    return Believed(
        skills.reshape(n, n_forms, N_SKILL_MODELS, -1),
        onto_lattice(levels).astype(np.float32).reshape(n, n_forms, N_LAWS, -1),
        skills.sum((4, 5)).reshape(n, n_forms, N_SKILL_MODELS, -1),
        levels.sum((3, 4)),
    )


class Appraisal:
    """Values of the day for N dogs.

    choices (N, B, 3, 8, 25): by form and model, see `SeasonValues.columns`. shown (N, B, 3, 8, 2, 2, L): chance that
    a block opens what waits. price (N,): goals a session.
    """

    def __init__(self, values: SeasonValues, beliefs: Beliefs, goal: Whole) -> None:
        self.values, self.beliefs, self.world = values, beliefs, beliefs.world
        self.spacing, self.goal = beliefs.spacing_index, np.searchsorted(GOAL_LEVELS, goal)
        size = (beliefs.n, N_BEHAVIOURS, len(FORMS), N_MODELS)
        self.choices = np.zeros((*size, N_CHOICES + 1), dtype=np.float32)
        self.shown = np.zeros((*size, 2, 2, N_LEVELS), dtype=np.float32)
        self.shown_tables = shown_tables(values.settings)
        self.day = 0

    def new_day(self, day: int) -> None:
        """Set the day's price and look at every behaviour."""
        self.day = day
        rows, behaviour = (x.ravel() for x in np.indices((self.beliefs.n, N_BEHAVIOURS)))
        believed = believed_of(self.beliefs, rows, behaviour, 1)
        self._set_price(rows, behaviour, believed)
        self._look(rows, behaviour, believed)

    def look_again(self, rows: Whole, behaviour: Whole) -> None:
        """Value these behaviours anew, after a block of each."""
        self._look(rows, behaviour, believed_of(self.beliefs, rows, behaviour, len(FORMS)))

    def _set_price(self, rows: Whole, behaviour: Whole, believed: Believed) -> None:
        now, later = self._worths(rows, behaviour, believed)
        prices = self.values.prices
        counted_on = self.beliefs.kinds() @ COUNTED_ON
        left = counted_on * (N_DAYS - self.day) * self.world.regime.capacity * (1.0 - self.world.p_missed)
        place = np.maximum(balanced_price(now.sum(1), prices, left), LEAST_PRICE)
        self.place = np.minimum(place.astype(np.int64), len(prices) - 2)
        self.beyond = place - self.place
        self.price = np.interp(place, np.arange(len(prices)), prices)
        self.values.expect(np.concatenate((self.place, self.place + 1)))
        self.delay_cost = self._between(now - later)

    def _worths(self, rows: Whole, behaviour: Whole, believed: Believed) -> tuple[Array, Array]:
        """Return what behaviours are worth at every price, and after a delay: (N, B, prices) each."""
        models = self.beliefs.joint().sum(1)
        days = (self.day, min(N_DAYS, self.day + DELAY_DAYS))
        worths = np.zeros((2, len(rows), len(self.values.prices)))
        spacing, goal = self.spacing[rows, behaviour], self.goal[rows, behaviour]
        for i in range(len(SPACINGS)):
            for j in range(len(GOAL_LEVELS)):
                at = np.flatnonzero((spacing == i) & (goal == j))
                for model, family in enumerate(FAMILIES):
                    share, own = models[rows[at], model][:, None], believed.of_model(model)[at, 0]
                    for total, day in zip(worths, days, strict=True):
                        total[at] += share * (own @ self.values.worth(family, day, i, j))
        now, later = worths.reshape(2, self.beliefs.n, N_BEHAVIOURS, -1)
        return now, later

    def _between(self, by_price: Array) -> Array:
        """Return figures (N, B) at the dogs' prices from those at every price (N, B, prices)."""
        places = self.place[:, None, None]
        below, above = (np.take_along_axis(by_price, places + one, axis=2)[:, :, 0] for one in (0, 1))
        value: Array = below + (above - below) * self.beyond[:, None]
        return value

    def _look(self, rows: Whole, behaviour: Whole, believed: Believed) -> None:
        spacing, goal = self.spacing[rows, behaviour], self.goal[rows, behaviour]
        looked = np.zeros((len(rows), len(FORMS), N_MODELS, N_CHOICES + 1), dtype=np.float32)
        for one in (0, 1):
            price = self.place[rows] + one
            weight = (self.beyond[rows] if one else 1.0 - self.beyond[rows]).astype(np.float32)
            group = (spacing * len(GOAL_LEVELS) + goal) * len(self.values.prices) + price
            for same in np.unique(group[weight > 0.0]):
                at = np.flatnonzero((group == same) & (weight > 0.0))
                table = (int(spacing[at[0]]), int(goal[at[0]]), int(price[at[0]]))
                looked[at] += weight[at, None, None, None] * self._averaged(at, believed, table)
        self.choices[rows, behaviour] = looked
        self._look_at_shown(rows, behaviour, believed)

    def _averaged(self, at: Whole, believed: Believed, table: tuple[int, int, int]) -> Small:
        """Return the values (n, 3, models, 25) of behaviours of one spacing and goal, at one price."""
        value = np.empty((len(at), len(FORMS), N_MODELS, N_CHOICES + 1), dtype=np.float32)
        for model, family in enumerate(FAMILIES):
            columns = self.values.columns(family, self.day, *table)
            own = believed.of_model(model)[at]
            for form in range(len(FORMS)):
                value[:, form, model] = own[:, min(form, own.shape[1] - 1)] @ columns[form]
        return value

    def _look_at_shown(self, rows: Whole, behaviour: Whole, believed: Believed) -> None:
        needed = np.isin(behaviour, [needs for _, needs in self.world.prerequisites])
        for i in range(len(SPACINGS)):
            at = np.flatnonzero(needed & (self.spacing[rows, behaviour] == i))
            for model, family in enumerate(FAMILIES):
                own = believed.states_of_model(model)[at]
                for form in range(len(FORMS)):
                    table = self.shown_tables[family is Family.BY_LEVELS][i, form]
                    value = own[:, min(form, own.shape[1] - 1)] @ table
                    self.shown[rows[at], behaviour[at], form, model] = value.reshape(-1, 2, 2, N_LEVELS)

    def next_block(self, observation: Observation) -> tuple[Array, Array]:
        """Return the values (N, B, levels) of the next block, and of no further session today (N, B)."""
        joint = self.beliefs.joint()
        mean = np.einsum("nfm,nbfmo->nbo", joint, self.choices)
        session = np.minimum(observation.sessions_today, 1)
        choices = mean[..., :N_CHOICES].reshape(*session.shape, 2, 2, N_LEVELS)
        by_level = np.take_along_axis(choices[:, :, :, observation.block], session[:, :, None, None], axis=2)[:, :, 0]
        for waiting, needs in self.world.prerequisites:
            gain = np.where(is_waiting(observation, waiting), self.delay_cost[:, waiting], 0.0)
            shown = np.einsum("nfm,nfmsl->nsl", joint, self.shown[:, needs, :, :, :, observation.block])
            here = np.take_along_axis(shown, session[:, needs, None, None], axis=1)[:, 0]
            by_level[:, needs, PREREQUISITE_LEVEL:] += gain[:, None] * here[:, PREREQUISITE_LEVEL:]
        return by_level, mean[..., N_CHOICES]
