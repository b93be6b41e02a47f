"""What a behaviour of a programme is still worth, whatever state a pup is in: tables small enough to solve at once.

**Model**: as `values`, made coarser so that one behaviour takes a tenth of a second: skills 0.28 logits apart, eight
prices, and the day's form averaged anew for each block instead of seen for the day. The power law of forgetting
borrows the exponential one's values. What the coarse grid costs is measured in docs/science/values.md.
Tables depend on the ladder, the goal and the prior, never on a record: they are solved once and kept.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import BLOCK_TRIALS, FORM_WEIGHTS, FORMS, Family, Floats
from pupilage.core.training.posterior.reading import chance_of_test
from pupilage.core.training.worth.moves import onto_grid

Small = NDArray[np.float32]

N_SKILLS = 27
"""Grid points of a skill, 0.28 logits apart."""
PRICES = np.array([0.0, 0.005, 0.012, 0.022, 0.035, 0.055, 0.09, 0.15])
"""Goals a session."""
N_LIVES = 7
KEPT_DAYS = 3
"""Days whose offers are kept ready to be averaged: about 2 MB each."""

TIRED = np.array(
    [
        [0.0, learners.SECOND_BLOCK],
        [learners.SECOND_SESSION, learners.SECOND_SESSION + learners.SECOND_BLOCK],
    ]
)
"""Weariness by session of the behaviour that day, and block."""

N_MET = np.arange(BLOCK_TRIALS + 1.0)
CHOOSE = np.array([float(comb(BLOCK_TRIALS, n_met)) for n_met in range(BLOCK_TRIALS + 1)])


@dataclass(frozen=True)
class Ranges:
    """What tables are solved for: difficulties of the steps in logits, the goal's place, the prior's ranges.

    rates in (0, 1) a met trial; first_life in days, each half-life 1.8 times the one before; n_days to the hand-over.
    """

    deltas: tuple[float, ...]
    target: int
    rates: tuple[float, ...]
    first_life: float
    base: float
    n_days: int

    @property
    def lives(self) -> Floats:
        """Return the half-lives in days."""
        return np.asarray(self.first_life * learners.HALF_LIFE_GROWTH ** np.arange(float(N_LIVES)))

    def states(self, family: Family) -> Floats:
        """Return the grid: skills in logits, or numbers of mastered steps."""
        if family is Family.BY_LEVELS:
            return np.arange(len(self.deltas) + 1.0)
        return np.linspace(self.base - learners.SKILL_BELOW_BASE, learners.SKILL_TOP, N_SKILLS)

    def chances(self, family: Family, shift: Floats) -> Floats:
        """Return the chance of a trial (…, steps, states) for shifts (…) of form and weariness in logits."""
        moved = shift[..., None, None]
        if family is Family.BY_LEVELS:
            n = len(self.deltas)
            by_step = [learners.p_met_by_levels(n, step, tired=shift[..., None]) for step in range(n)]
            return np.stack(by_step, axis=-2)
        return np.asarray(learners.p_met(self.states(family), np.asarray(self.deltas)[:, None], form=moved))


class Tables:
    """The values of one family: `mornings` (days + 1, rates, states, prices, half-lives), the last one the test's."""

    def __init__(self, ranges: Ranges, family: Family) -> None:
        self.ranges, self.family = ranges, family
        self.blocks = [[block_moves(ranges, family, float(tired)) for tired in session] for session in TIRED]
        self.night = night_moves(ranges, family)
        self.prices = PRICES.astype(np.float32)[:, None]
        self.mornings = self._solve()
        self._today: dict[int, tuple[Offer, ...]] = {}

    def _solve(self) -> Small:
        r = self.ranges
        p = r.chances(self.family, FORMS)[:, r.target]
        shape = (len(r.rates), p.shape[-1], len(PRICES), N_LIVES)
        mornings = np.empty((r.n_days + 1, *shape), dtype=np.float32)
        mornings[-1] = (FORM_WEIGHTS @ chance_of_test(p))[:, None, None]
        for day in range(r.n_days - 1, -1, -1):
            evening = self._evening(mornings[day + 1])
            second = np.maximum(evening, self._train(1, evening).max(1))
            mornings[day] = np.maximum(evening, self._train(0, second).max(1))
        return mornings

    def _evening(self, morning: Small) -> Small:
        """Return the values (rates, states, prices, half-lives) of the evening before a morning."""
        n_rates, n_states, n_prices, n_lives = morning.shape
        columns = morning.transpose(3, 1, 0, 2).reshape(n_lives, n_states, -1)
        value = (self.night @ columns).reshape(n_lives, n_states, n_rates, n_prices)
        return np.ascontiguousarray(value.transpose(2, 1, 3, 0))

    def _train(self, session: int, after: Small) -> Small:
        """Return the values (rates, steps, states, …) of a session whose first block is at each step, λ paid."""
        then = _every(self.blocks[session][1], after).max(1)
        return _every(self.blocks[session][0], then) - self.prices

    def today(self, days_left: int) -> "tuple[Offer, ...]":
        """Return what a day with so many days left (1 or more, itself too) offers: a first and a second session."""
        if days_left not in self._today:
            if len(self._today) >= KEPT_DAYS:
                self._today.pop(next(iter(self._today)))
            evening = self._evening(self.mornings[self.ranges.n_days + 1 - days_left])
            second = self._train(1, evening)
            first = self._train(0, np.maximum(evening, second.max(1)))
            self._today[days_left] = tuple(_offer(session, evening) for session in (first, second))
        return self._today[days_left]


@dataclass(frozen=True)
class Offer:
    """One more session today, averaged by a product with a belief: the first axis is (rates, states, half-lives).

    gain (…, steps, prices): a session begun at each step, λ paid, above no more today; best (…, prices): the better
    of the two.
    """

    gain: Small
    best: Small


def _offer(session: Small, evening: Small) -> Offer:
    n_steps, n_prices = session.shape[1], session.shape[3]
    gain = (session - evening[:, None]).transpose(0, 2, 4, 1, 3)
    best = np.maximum(evening, session.max(1)).transpose(0, 1, 3, 2)
    return Offer(
        np.ascontiguousarray(gain).reshape(-1, n_steps, n_prices), np.ascontiguousarray(best).reshape(-1, n_prices)
    )


def _every(moves: Small, after: Small) -> Small:
    """Return the expected values (rates, steps, states, …) of a block, moves (rates, steps, states, 2 states)."""
    n_rates, n_steps, n_states, n_ways = moves.shape
    longer = np.concatenate((after[..., 1:], after[..., -1:]), axis=-1)
    columns = np.concatenate((after, longer), axis=1).reshape(n_rates, n_ways, -1)
    value = moves.reshape(n_rates, n_steps * n_states, n_ways) @ columns
    return value.reshape(n_rates, n_steps, *after.shape[1:])


def block_moves(ranges: Ranges, family: Family, tired: float) -> Small:
    """Return where a block of five takes each state, by rate and step: (rates, steps, states, 2 states).

    The second half of the last axis: the half-life has grown. The day's form is averaged by its prior.
    """
    p = np.moveaxis(ranges.chances(family, FORMS + tired), 0, -1)
    n_met = N_MET[:, None]
    weights = CHOOSE[:, None] * p[..., None, :] ** n_met * (1.0 - p[..., None, :]) ** (BLOCK_TRIALS - n_met)
    weights = weights * FORM_WEIGHTS
    grows = learners.GROWTH_PER_HIT * n_met
    if family is Family.BY_LEVELS:
        return _steps_up(ranges, (weights * grows).sum((-2, -1)))
    points = _skills_after(ranges, family, p[..., None, :])
    weights = np.broadcast_to(weights, points.shape)
    flat = (*points.shape[:-2], -1)
    halves = [
        onto_grid(ranges.states(family), points.reshape(flat), (weights * share).reshape(flat))
        for share in (1.0 - grows, grows)
    ]
    return np.concatenate(halves, axis=-1).astype(np.float32)


def _skills_after(ranges: Ranges, family: Family, p: Floats) -> Floats:
    """Return the skills (rates, steps, states, met, forms) after a block."""
    skill, rate = ranges.states(family)[:, None, None], np.asarray(ranges.rates)[:, None, None, None, None]
    n_met, base = N_MET[:, None], ranges.base
    if family is Family.TOWARD_LEVEL:
        delta = np.asarray(ranges.deltas)[:, None, None, None]
        after = learners.learn_toward_level(skill, rate, delta, BLOCK_TRIALS, n_met, base)
        return np.broadcast_to(after, (*after.shape[:-1], len(FORMS)))
    return np.asarray(learners.learn_at_chance(skill, rate, p, BLOCK_TRIALS, n_met, base))


def _steps_up(ranges: Ranges, grows: Floats) -> Small:
    """Return the moves of the family that masters steps; grows (steps, states): chance that the half-life grows."""
    n_steps = len(ranges.deltas)
    rates = np.asarray(ranges.rates)[:, None]
    start = np.broadcast_to(np.eye(n_steps + 1), (len(rates), n_steps + 1, n_steps + 1))
    moved = np.stack([learners.learn_by_levels(start, rates, step, BLOCK_TRIALS) for step in range(n_steps)], axis=1)
    share = grows[..., None]
    return np.concatenate((moved * (1.0 - share), moved * share), axis=-1).astype(np.float32)


def night_moves(ranges: Ranges, family: Family) -> Small:
    """Return where a night takes each state: (half-lives, states, states)."""
    kept = np.exp2(-1.0 / ranges.lives)
    grid = ranges.states(family)
    if family is Family.BY_LEVELS:
        start = np.broadcast_to(np.eye(len(grid)), (len(kept), len(grid), len(grid)))
        return np.asarray(learners.forget_by_levels(start, kept[:, None], 1), dtype=np.float32)
    points = learners.forget(grid, kept[:, None], ranges.base)
    return onto_grid(grid, points[..., None], np.ones((*points.shape, 1))).astype(np.float32)


@lru_cache(maxsize=24)  # about 9 MB each
def tables_for(ranges: Ranges) -> dict[Family, Tables]:
    """Return the tables of all three families, solved once. Do not change them."""
    return {family: Tables(ranges, family) for family in Family}
