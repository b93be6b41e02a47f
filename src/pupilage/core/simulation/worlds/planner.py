"""Our policy: the index of one more session, averaged over what can be believed of each dog, at its best level."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.beliefs import N_LAWS, N_MODELS, N_SKILL_MODELS, Beliefs
from pupilage.core.simulation.worlds.ceilings import DELAY_DAYS, is_waiting, p_shown
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.reasons import Choice, Why
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
from pupilage.core.simulation.worlds.season import Observation, Outcomes, tiredness
from pupilage.core.simulation.worlds.season_values import N_CHOICES, SeasonValues, stride_of
from pupilage.core.training.posterior.learners import FORMS, Family
from pupilage.core.training.worth.allocation import NONE, balanced_price, best_behaviour, session_index
from pupilage.core.training.worth.values import TIRED_BLOCKS

Small = NDArray[np.float32]
Masses = tuple[Small, Small]

FAMILIES: tuple[Family, ...] = tuple(
    kind
    for kind in (Family.TOWARD_LEVEL, Family.PER_SUCCESS, Family.PER_SUCCESS, Family.BY_LEVELS)
    for _ in range(N_LAWS)
)
WANDERING = 2
"""Of each model, in the order of the beliefs. Values know the exponential law; the power law borrows them, and a skill
that wanders those of learning per success, whose best step is one where three tries in four succeed."""


@dataclass
class Looked:
    """What is believed of every behaviour today, by form and model.

    choices (N, B, 3, 8, 25): values, see `SeasonValues.columns`. shown (N, B, 3, 8, 2, 2, L): chance that a block
    opens what waits.
    """

    choices: Small
    shown: Small


COUNTED_ON = np.array([0.9, 1.15, 0.9, 0.9])
"""Share of the sessions left that the price counts on, by way of learning. Values take it that tomorrow all will be
known, so the price is not quite the one that balances; chosen on simulated dogs of seeds 7 and 8, not derived."""

LEAST_PRICE = 1
"""Place of the lowest price: sessions are never believed to be worth nothing, for then today's would not matter."""

HARMLESS = 2e-4
"""Goals: a session that is believed to cost less than this does no harm."""

SURE = 0.99
"""How certain the way of learning must be before a session that seems to harm is left out."""

WANDERS, GENTLE_P = 0.25, 0.65
"""From this weight of the wandering kind on, a step is one where a try succeeds with this chance, if there is any."""


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
        self.why: NDArray[np.object_] = np.full(n, Why.REST, dtype=object)
        self.gain = np.zeros(n)
        self.chosen: tuple[Whole, Whole] = (np.full(n, NONE), np.zeros(n, dtype=np.int64))
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
        """Return the cells of what is believed: skills (n, forms, 6, cells) and levels (n, forms, 2, cells)."""
        at = (rows, behaviour, slice(n_forms))
        skills = np.moveaxis(self.beliefs.skills[at], 4, 3)
        levels = self.beliefs.mastery[at]
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
        left = (
            (self.beliefs.kinds() @ COUNTED_ON)
            * (N_DAYS - self.day)
            * self.world.regime.capacity
            * (1.0 - self.world.p_missed)
        )
        place = balanced_price(now.sum(1), self.values.prices, left)
        place = np.maximum(place, LEAST_PRICE)
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
        """Return the behaviour with the largest index, at its best level. The reasons: `choice`."""
        by_level, rest = self.believed(observation)
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
        prices = self.values.prices
        price = prices[self.price] + (prices[self.price + 1] - prices[self.price]) * self.beyond
        index = session_index(by_level, rest, price) + HARMLESS
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
        self.beliefs.observe(outcomes)
        self._look(outcomes.rows, outcomes.behaviour, self._masses(outcomes.rows, outcomes.behaviour, len(FORMS)))


def _of_model(mass: Masses, model: int) -> Small:
    """Return the mass (n, forms, cells) of one of the eight models."""
    return mass[0][:, :, model] if model < N_SKILL_MODELS else mass[1][:, :, model - N_SKILL_MODELS]
