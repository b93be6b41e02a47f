"""Our policy: the index of one more session, averaged over what can be believed of each dog, at its best level."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.beliefs import N_LAWS, N_MODELS, N_SKILL_MODELS, Beliefs
from pupilage.core.simulation.worlds.ceilings import DELAY_DAYS, is_waiting, p_shown
from pupilage.core.simulation.worlds.fixed_rules import FixedRule
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import (
    GOAL_LEVELS,
    N_BEHAVIOURS,
    N_DAYS,
    N_LEVELS,
    N_RATES,
    N_STRETCHES,
    SPACINGS,
    Whole,
    World,
)
from pupilage.core.simulation.worlds.season import Observation, Outcomes
from pupilage.core.simulation.worlds.season_values import N_CHOICES, SeasonValues, stride_of
from pupilage.core.training.allocation import balanced_price, best_behaviour, session_index
from pupilage.core.training.learners import FORMS, Family
from pupilage.core.training.moves import Learner, Unlike
from pupilage.core.training.values import TIRED_BLOCKS

Small = NDArray[np.float32]
Masses = tuple[Small, Small]

FAMILIES: tuple[Learner, ...] = tuple(
    kind
    for kind in (Family.TOWARD_LEVEL, Family.PER_SUCCESS, Unlike.WANDERING, Family.BY_LEVELS)
    for _ in range(N_LAWS)
)
"""Of each model, in the order of `prior.MODELS`. Values know the exponential law; the power law borrows them."""


@dataclass
class Looked:
    """What is believed of every behaviour today, by form and model.

    choices (N, B, 3, 6, 25): values, see `SeasonValues.columns`. shown (N, B, 3, 6, 2, 2, L): chance that a block
    opens what waits.
    """

    choices: Small
    shown: Small


HABIT = (10, True)
HARMLESS = float(__import__("os").environ.get("EPS", "0.0002"))


class Planner:
    """A batch policy. See the module; `values` are tables of this regime, with the mean weariness of a day."""

    def __init__(self, values: SeasonValues, world: World, n: int, spacing_index: Whole, goal: Whole) -> None:
        self.values, self.world, self.n = values, world, n
        self.spacing_index = spacing_index
        self.goal_index = np.searchsorted(GOAL_LEVELS, goal)
        self.beliefs = Beliefs(world, n, spacing_index)
        size = (n, N_BEHAVIOURS, len(FORMS), N_MODELS)
        self.looked = Looked(
            np.zeros((*size, N_CHOICES + 1), dtype=np.float32), np.zeros((*size, 2, 2, N_LEVELS), dtype=np.float32)
        )
        self.shown_tables = self._shown_tables()
        self.habit = FixedRule(n, *HABIT)
        self.day = 0

    def _shown_tables(self) -> dict[Family, Small]:
        """Return the chance to meet 4 of 5: (spacings, 3 forms, states, 2 x 2 x L) for skills and for levels."""
        tables = {}
        for family in (Family.TOWARD_LEVEL, Family.BY_LEVELS):
            courses = [setting.course(family, 0.1) for setting in self.values.settings]
            worn = self.values.settings[0].worn
            tables[family] = np.array(
                [
                    [
                        np.stack(
                            [
                                p_shown(course.chance(level, float(form), tired + worn)[:: stride_of(family)])
                                for session in TIRED_BLOCKS
                                for tired in session
                                for level in range(N_LEVELS)
                            ],
                            axis=-1,
                        )
                        for form in FORMS
                    ]
                    for course in courses
                ],
                dtype=np.float32,
            )
        return tables

    def new_day(self, day: int) -> None:
        """Let the night pass, set the day's price, and look at every behaviour."""
        if day:
            self.beliefs.night()
        self.day = day
        rows, behaviour = (x.ravel() for x in np.indices((self.n, N_BEHAVIOURS)))
        mass = self._masses(rows, behaviour, 1)
        self._set_price(rows, behaviour, mass)
        self._look(rows, behaviour, mass)

    def _masses(self, rows: Whole, behaviour: Whole, n_forms: int) -> Masses:
        """Return the cells of what is believed: skills (n, forms, 4, cells) and levels (n, forms, 2, cells)."""
        at = (rows, behaviour, slice(n_forms))
        skills = np.moveaxis(self.beliefs.skills[at], 4, 3)
        levels = np.moveaxis(self.beliefs.mastery[at], 2, 2)
        return (
            skills.reshape(len(rows), n_forms, N_SKILL_MODELS, -1),
            levels.reshape(len(rows), n_forms, N_LAWS, -1),
        )

    def _set_price(self, rows: Whole, behaviour: Whole, mass: Masses) -> None:
        models = self.beliefs.joint().sum(1)
        n_prices = len(self.values.prices)
        now, later = np.zeros((2, len(rows), n_prices))
        spacing, goal = self.spacing_index[rows, behaviour], self.goal_index[rows, behaviour]
        for i in range(len(SPACINGS)):
            for j in range(len(GOAL_LEVELS)):
                at = np.flatnonzero((spacing == i) & (goal == j))
                for model, family in enumerate(FAMILIES):
                    share = models[rows[at], model][:, None]
                    own = _of_model(mass, model)[at, 0]
                    for total, day in ((now, self.day), (later, min(N_DAYS, self.day + DELAY_DAYS))):
                        total[at] += share * (own @ self.values.worth(family, day, i, j))
        now, later = (total.reshape(self.n, N_BEHAVIOURS, n_prices) for total in (now, later))
        left = (N_DAYS - self.day) * self.world.regime.capacity * (1.0 - self.world.p_missed)
        place = balanced_price(now.sum(1), self.values.prices, np.full(self.n, left * float(__import__("os").environ.get("LEFT", "1"))))
        place = np.maximum(place, float(__import__("os").environ.get("MINP", "0")))
        self.price = np.minimum(place.astype(np.int64), n_prices - 2)
        self.beyond = place - self.price
        self.values.expect(np.concatenate((self.price, self.price + 1)))
        self.delay_cost = self._between(now - later)

    def _between(self, by_price: Array) -> Array:
        """Return figures (N, B) at the dogs' prices from those at every price (N, B, prices)."""
        places = self.price[:, None, None]
        below, above = (np.take_along_axis(by_price, places + one, axis=2)[:, :, 0] for one in (0, 1))
        return below + (above - below) * self.beyond[:, None]

    def _look(self, rows: Whole, behaviour: Whole, mass: Masses) -> None:
        """Average the day's values over what is believed; a mass without a form axis stands for all forms."""
        spacing, goal = self.spacing_index[rows, behaviour], self.goal_index[rows, behaviour]
        looked = np.zeros((len(rows), len(FORMS), N_MODELS, N_CHOICES + 1), dtype=np.float32)
        for one in (0, 1):
            price = self.price[rows] + one
            weight = (self.beyond[rows] if one else 1.0 - self.beyond[rows]).astype(np.float32)
            group = (spacing * len(GOAL_LEVELS) + goal) * len(self.values.prices) + price
            for same in np.unique(group[weight > 0.0]):
                at = np.flatnonzero((group == same) & (weight > 0.0))
                looked[at] += weight[at, None, None, None] * self._averaged(
                    at, mass, spacing[at[0]], goal[at[0]], price[at[0]]
                )
        self.looked.choices[rows, behaviour] = looked
        self._look_at_shown(rows, behaviour, spacing, mass)

    def _averaged(self, at: Whole, mass: Masses, spacing: int, goal: int, price: int) -> Small:
        """Return the values (n, 3, models, 25) of behaviours of one kind at one price."""
        value = np.empty((len(at), len(FORMS), N_MODELS, N_CHOICES + 1), dtype=np.float32)
        for model, family in enumerate(FAMILIES):
            columns = self.values.columns(family, self.day, spacing, goal, price)
            own = _of_model(mass, model)[at]
            for form in range(len(FORMS)):
                value[:, form, model] = own[:, min(form, own.shape[1] - 1)] @ columns[form]
        return value

    def _look_at_shown(self, rows: Whole, behaviour: Whole, spacing: Whole, mass: Masses) -> None:
        needs = np.isin(behaviour, [needs for _, needs in self.world.prerequisites])
        for i in range(len(SPACINGS)):
            at = np.flatnonzero(needs & (spacing == i))
            if not len(at):
                continue
            for model, family in enumerate(FAMILIES):
                family = Family.BY_LEVELS if family is Family.BY_LEVELS else Family.TOWARD_LEVEL
                own = _of_model(mass, model)[at]
                own = own.reshape(*own.shape[:2], N_RATES * N_STRETCHES, -1).sum(2)
                for form in range(len(FORMS)):
                    value = own[:, min(form, own.shape[1] - 1)] @ self.shown_tables[family][i, form]
                    self.looked.shown[rows[at], behaviour[at], form, model] = value.reshape(-1, 2, 2, N_LEVELS)

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Return the behaviour with the largest index, at its best level."""
        by_level, rest = self.believed(observation)
        behaviour = observation.running
        usual = self.habit.choose(observation)
        if observation.block == 0:
            prices = self.values.prices
            price = prices[self.price] + (prices[self.price + 1] - prices[self.price]) * self.beyond
            index = session_index(by_level, rest, price) + HARMLESS
            kinds = self.beliefs.joint().sum(1).reshape(self.n, -1, N_LAWS).sum(2)
            unsure = kinds[:, [0, 1, 3]].max(1) < float(__import__("os").environ.get("SURE", "0.9"))
            top = np.where(observation.allowed, index, 0.0).max(1)
            self.by_habit = unsure & (top < float(__import__("os").environ.get("WW", "0.002")))
            behaviour = best_behaviour(index, observation.allowed, observation.sessions_today)
            behaviour = np.where(self.by_habit, usual[0], behaviour)
        level: Whole = by_level[np.arange(self.n), np.maximum(behaviour, 0)].argmax(-1)
        return behaviour, np.where(self.by_habit, usual[1], level)

    def believed(self, observation: Observation) -> tuple[Array, Array]:
        """Return the values (N, B, levels) of the next block, and of no further session today (N, B)."""
        joint = self.beliefs.joint()
        mean = np.einsum("nfm,nbfmo->nbo", joint, self.looked.choices)
        session = np.minimum(observation.sessions_today, 1)
        choices = mean[..., :N_CHOICES].reshape(self.n, N_BEHAVIOURS, 2, 2, N_LEVELS)
        by_level = np.take_along_axis(choices[:, :, :, observation.block], session[:, :, None, None], axis=2)[:, :, 0]
        for waiting, needs in self.world.prerequisites:
            gain = np.where(is_waiting(observation, waiting), self.delay_cost[:, waiting], 0.0)
            shown = np.einsum("nfm,nfmsl->nsl", joint, self.looked.shown[:, needs, :, :, :, observation.block])
            here = np.take_along_axis(shown, session[:, needs, None, None], axis=1)[:, 0]
            by_level[:, needs, 2:] += gain[:, None] * here[:, 2:]
        return by_level, mean[..., N_CHOICES]

    def observe(self, outcomes: Outcomes) -> None:
        """Take in a block and look again at the behaviours it concerned."""
        if not len(outcomes.rows):
            return
        self.habit.observe(outcomes)
        self.beliefs.observe(outcomes)
        self._look(outcomes.rows, outcomes.behaviour, self._masses(outcomes.rows, outcomes.behaviour, len(FORMS)))


def _of_model(mass: Masses, model: int) -> Small:
    """Return the mass (n, forms, cells) of one of the six models."""
    return mass[0][:, :, model] if model < N_SKILL_MODELS else mass[1][:, :, model - N_SKILL_MODELS]
