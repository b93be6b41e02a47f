"""The value tables of a regime's season, for every spacing and every learning rate that dogs there may have."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pupilage.core.simulation.worlds.cells import STRIDE
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import GOAL_LEVELS, N_DAYS, N_LEVELS, SPACINGS, Whole, World
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth.unseen_levels import UnseenLevels
from pupilage.core.training.worth.values import DayValues, FamilyValues, Setting, Small

N_CHOICES = 2 * 2 * N_LEVELS
"""Session of the behaviour that day, block, level."""


def stride_of(family: Family) -> int:
    """Return how many states of the tables the beliefs pass over at each step."""
    return 1 if family is Family.BY_LEVELS else STRIDE


def setting_of(world: World, spacing: float, *, worn: float = 0.0) -> Setting:
    """Return the setting of one spacing (logits a level) in a world."""
    return Setting(
        deltas=tuple(spacing * level for level in range(N_LEVELS)),
        targets=GOAL_LEVELS,
        rates=tuple(float(x) for x in world.regime.rates),
        half_lives=tuple(float(x) for x in world.regime.half_lives),
        base=world.regime.base,
        n_days=N_DAYS,
        worn=worn,
        guess=world.guess,
        lapse=world.lapse,
    )


def mean_worn(world: World) -> float:
    """Return the weariness from earlier sessions of the day, averaged over the day's sessions."""
    return learners.EARLIER_SESSION * (world.regime.capacity - 1) / 2.0


def _solved(setting: Setting, family: Family, rate: float, sees_levels: bool) -> FamilyValues:
    if family is Family.BY_LEVELS and not sees_levels:
        return UnseenLevels(setting, rate)
    return FamilyValues(setting, family, rate)


class SeasonValues:
    """Tables (spacings, rates, …) of each family; `mornings[family]` has days + 1 as its third axis.

    sees_levels: whether it is seen when a level is mastered, as the ceilings see it; else the states of the family by
    levels are beliefs, see `unseen_levels`.
    """

    def __init__(
        self, world: World, *, sees_levels: bool, worn: float = 0.0, families: Iterable[Family] = tuple(Family)
    ) -> None:
        self.settings = [setting_of(world, spacing, worn=worn) for spacing in SPACINGS]
        self.prices = np.asarray(self.settings[0].prices)
        self._kept: dict[Family, tuple[int, DayValues]] = {}
        self._some: dict[Family, tuple[int, Whole, DayValues]] = {}
        self._expected: Whole = np.arange(len(self.prices))
        self._columns: dict[tuple[int, Family, int, int, int], Small] = {}
        self._solvers = {
            family: [[_solved(s, family, rate, sees_levels) for rate in s.rates] for s in self.settings]
            for family in families
        }
        self.mornings: dict[Family, Small] = {
            family: np.stack([[one.mornings for one in row] for row in rows]) for family, rows in self._solvers.items()
        }

    def day(self, family: Family, day: int) -> DayValues:
        """Return every choice of a day; the arrays begin with the axes (spacings, rates). The last day is kept."""
        if self._kept.get(family, (-1,))[0] == day:
            return self._kept[family][1]
        values = self._stacked(family, day, slice(None), 1)
        self._kept[family] = (day, values)
        return values

    def _stacked(self, family: Family, day: int, which_prices: Whole | slice, step: int) -> DayValues:
        rows = self._solvers[family]
        made = [one.day(day, which_prices) for row in rows for one in row]
        sessions = np.stack([one.session[..., ::step, :, :, :] for one in made])
        evenings = np.stack([one.evening[::step] for one in made])
        front = (len(rows), len(rows[0]))
        return DayValues(sessions.reshape(*front, *sessions.shape[1:]), evenings.reshape(*front, *evenings.shape[1:]))

    def expect(self, prices: Whole) -> None:
        """Say which prices (places in the list) the columns of the next days will be asked for: others take longer."""
        self._expected = np.unique(prices)

    def _at_price(self, family: Family, day: int, price: int) -> tuple[DayValues, int]:
        """Return a day's values for the beliefs' states at some prices, and the place of this one among them."""
        kept_day, prices, values = self._some.get(family, (-1, self._expected, None))
        if values is None or kept_day != day or price not in prices:
            prices = np.union1d(self._expected, [price])
            values = self._stacked(family, day, prices, stride_of(family))
            self._some[family] = (day, prices, values)
            self._columns = {key: found for key, found in self._columns.items() if key[0] == day}
        return values, int(np.searchsorted(prices, price))

    def columns(self, family: Family, day: int, spacing: int, goal: int, price: int) -> Small:
        """Return a day's values at one price, ready to be averaged: (3 forms, rates x half-lives x states, 25).

        The 25: two sessions x two blocks x six levels, and no further session today. States are those of the beliefs.
        """
        key = (day, family, spacing, goal, price)
        if key not in self._columns:
            values, place = self._at_price(family, day, price)
            session = values.session[spacing, ..., goal, place, :].transpose(3, 0, 6, 5, 1, 2, 4)
            evening = values.evening[spacing, ..., goal, place, :].transpose(0, 2, 1)
            made = np.empty((len(session), evening.size, N_CHOICES + 1), dtype=np.float32)
            made[:, :, :N_CHOICES] = session.reshape(len(session), -1, N_CHOICES)
            made[:, :, N_CHOICES] = evening.reshape(-1)
            self._columns[key] = made
        return self._columns[key]

    def worth(self, family: Family, day: int, spacing: int, goal: int) -> Small:
        """Return the worth of a morning at every price: (rates x half-lives x states of the beliefs, prices)."""
        table = self.mornings[family][spacing, :, day, :: stride_of(family), goal]
        return np.ascontiguousarray(table.transpose(0, 3, 1, 2)).reshape(-1, len(self.prices))

    def states(self, family: Family) -> Array:
        """Return the grid of states."""
        return self.settings[0].course(family, 0.1).states


@dataclass(frozen=True)
class Place:
    """Where behaviours stand in the tables: all (n, B). state: the grid point below, part: how far to the next one."""

    spacing: Whole
    rate: Whole
    goal: Whole
    stretch: Whole
    state: Whole
    part: Array

    def read(self, table: Array, front: tuple[Whole | int, ...], price: Whole | slice) -> Array:
        """Return table[spacing, rate, *front, state, goal, price, stretch], linear in the state."""
        at = (self.spacing, self.rate, *front)
        next_state = np.minimum(self.state + 1, table.shape[-4] - 1)
        below = table[(*at, self.state, self.goal, price, self.stretch)]
        above = table[(*at, next_state, self.goal, price, self.stretch)]
        part = self.part.reshape(self.part.shape + (1,) * (below.ndim - self.part.ndim))
        value: Array = below * (1.0 - part) + above * part
        return value
