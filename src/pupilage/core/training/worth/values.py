"""What a behaviour is still worth at a price a session: backward recursion over days, forms, half-lives and skills.

**Model** (Lagrangian relaxation of a weakly coupled decision problem): the day's capacity is replaced by a price λ a
session. For one behaviour with known rate, V(day, s, h) = E over the day's form of the best of 0, 1 or 2 sessions,
each two blocks of five at any level, minus λ a session; after the last night V = P(8 of 10 cold), form integrated.
Then V(dog) ≤ min over λ of λ N + Σ_b V_b(λ) for any policy, even one that knows everything but the coin tosses, up to
the interpolation between grid points.
Source (from memory): Hawkins, 2003,
"A Lagrangian decomposition approach to weakly coupled dynamic optimization problems";
Whittle, 1988, "Restless bandits". No test checks these tables yet.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family, Floats
from pupilage.core.training.worth.moves import Course, Moves, block_moves, chance_of_goal, night_moves

Small = NDArray[np.float32]

PRICES = (0.0, 0.002, 0.005, 0.01, 0.016, 0.024, 0.034, 0.048, 0.066, 0.09, 0.13, 0.2)
"""Goals a session: from worth nothing to a fifth of a goal."""

TIRED_BLOCKS = (
    (0.0, learners.SECOND_BLOCK),
    (learners.SECOND_SESSION, learners.SECOND_SESSION + learners.SECOND_BLOCK),
)
"""Weariness by session of the behaviour that day, and block. Tables of a policy add `Setting.worn`."""


@dataclass(frozen=True)
class Setting:
    """What the tables of one ladder depend on: the programme and the ranges believed in.

    deltas: difficulty of each step in logits, of any spacing; targets: places of the goals' steps; rates a met trial;
    half_lives: days, each 1.8 times the one before; worn: logits of weariness from earlier sessions of the day (0 for
    a bound); prices: goals a session, rising from 0.
    """

    deltas: tuple[float, ...]
    targets: tuple[int, ...]
    rates: tuple[float, ...]
    half_lives: tuple[float, ...]
    base: float = learners.BASE
    n_days: int = 21
    worn: float = 0.0
    prices: tuple[float, ...] = PRICES
    guess: float = learners.GUESS
    lapse: float = learners.LAPSE

    def __post_init__(self) -> None:
        if not self.targets or not all(0 <= target < len(self.deltas) for target in self.targets):
            raise InvalidInput.of(
                "targets", "{given} are no places in a list of {n} steps.", given=str(self.targets), n=len(self.deltas)
            )
        if self.n_days < 0:
            raise InvalidInput.of("n_days", "{given} days cannot be left; give 0 or more.", given=self.n_days)

    def course(self, family: Family, rate: float) -> Course:
        """Return what one family with one learning rate makes of the ladder."""
        return Course(family, rate, self.deltas, self.half_lives, self.base, self.guess, self.lapse)


@dataclass(frozen=True)
class DayValues:
    """Every choice of one day for one family and rate; the last axes are (states, targets, prices, half-lives).

    session (2 sessions, 2 blocks, 3 forms, levels, …): training that block at that level and going on well, λ of the
    session paid at its first block. evening: no further session today.
    """

    session: Small
    evening: Small


class FamilyValues:
    """The values of one family and rate: `mornings` (days + 1, states, targets, prices, half-lives)."""

    def __init__(self, setting: Setting, family: Family, rate: float, mornings: Small | None = None) -> None:
        self.setting = setting
        self.course = setting.course(family, rate)
        self.mornings = self._solve() if mornings is None else mornings

    @cached_property
    def _blocks(self) -> list[list[list[Moves]]]:
        """Moves by session, block and form."""
        worn = self.setting.worn
        return [
            [[self._moves(float(form), tired + worn) for form in learners.FORMS] for tired in session]
            for session in TIRED_BLOCKS
        ]

    def _moves(self, form: float, tired: float) -> Moves:
        return block_moves(self.course, form, tired)

    @cached_property
    def _night(self) -> Small:
        return self._nights()

    def _nights(self) -> Small:
        return night_moves(self.course)

    def _tests(self) -> Floats:
        """Return the chance of the goal for every state and target: (states, targets)."""
        return chance_of_goal(self.course, self.setting.targets)

    @cached_property
    def _prices(self) -> Small:
        return np.asarray(self.setting.prices, dtype=np.float32)[:, None]

    def _solve(self) -> Small:
        s = self.setting
        tests = self._tests()
        mornings = np.empty((s.n_days + 1, *tests.shape, len(s.prices), len(s.half_lives)), dtype=np.float32)
        mornings[-1] = tests[:, :, None, None]
        for day in range(s.n_days - 1, -1, -1):
            mornings[day] = self._day_back(self._evening(mornings[day + 1]))
        return mornings

    def _evening(self, morning: Small) -> Small:
        """Return the values of the evening before a morning."""
        value: Small = np.einsum("hst,tgph->sgph", self._night, morning, optimize=True)
        return value

    def _day_back(self, evening: Small) -> Small:
        value = np.zeros_like(evening)
        for form, weight in enumerate(learners.FORM_WEIGHTS):
            after = evening
            for blocks in (self._blocks[1], self._blocks[0]):
                after = np.maximum(evening, blocks[0][form].best(blocks[1][form].best(after)) - self._prices)
            value += np.float32(weight) * after
        return value

    def day(self, day: int, which_prices: NDArray[np.int64] | slice = slice(None)) -> DayValues:
        """Return every choice of a day (0-based), at all prices or at some."""
        evening = self._evening(self.mornings[day + 1][:, :, which_prices])
        prices = self._prices[which_prices]
        n_forms, n_levels = len(learners.FORMS), self.course.n_levels
        session = np.empty((2, 2, n_forms, n_levels, *evening.shape), dtype=np.float32)
        for form in range(n_forms):
            after = evening
            for which in (1, 0):
                blocks = self._blocks[which]
                session[which, 1, form] = blocks[1][form].every(after)
                session[which, 0, form] = blocks[0][form].every(session[which, 1, form].max(0)) - prices
                after = np.maximum(evening, session[which, 0, form].max(0))
        return DayValues(session, evening)


def bound_of(values_by_price: Floats, prices: Floats, n_sessions: Floats) -> Floats:
    """Return min over λ of λ N + Σ_b V_b(λ) for every dog: values (N, prices) summed over behaviours, N (N,)."""
    return np.asarray((prices * n_sessions[:, None] + values_by_price).min(1))
