"""A behaviour's course from today to the hand-over: the posterior pushed forward through the sessions still possible.

A fixed, stratified set of dogs is taken from the posterior; each goes through the plan with its own outcomes, the
trainer raising and lowering after every set of five, and the nights take their share. The numbers that stand for
chance are a fixed table, so that the same record always gives the same figure; no random generator is asked.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import BLOCK_TRIALS, FORM_WEIGHTS, FORMS, Floats
from pupilage.core.training.posterior.reading import chance_of_test
from pupilage.core.training.posterior.state import Now

Places = NDArray[np.intp]
Small = NDArray[np.float32]

N_DOGS = 512
BLOCKS_A_SESSION = 2
MET_TO_RAISE = 4
MET_TO_LOWER = 2
MET_TO_LOWER_BY_LEVELS = 1
"""A dog that learns level by level is not taken back as soon: it meets a new level two times in five at first."""

TABLE_BLOCKS = 128
TABLE_ROWS = BLOCK_TRIALS + 2
"""Five trials, a level mastered, a half-life stretched."""


@dataclass(frozen=True)
class Sessions:
    """The sessions of a behaviour still possible: how many on each day from today to the day before the hand-over."""

    per_day: tuple[int, ...]

    @property
    def n_days(self) -> int:
        return len(self.per_day)

    @property
    def n(self) -> int:
        return sum(self.per_day)


def spread_sessions(n_sessions: int, n_days: int) -> Sessions:
    """Return n sessions spread evenly over the days, 0 or more of each."""
    counts = [0] * n_days
    for i in range(n_sessions if n_days else 0):
        counts[min(n_days - 1, int((i + 0.5) * n_days / n_sessions))] += 1
    return Sessions(tuple(counts))


@dataclass
class Dogs:
    """Dogs drawn from a posterior: arrays of N_DOGS. The first n_skill have a skill, the others mastered levels."""

    n_toward: int
    n_skill: int
    skill: Floats
    mastered: Floats
    rate: Floats
    half_life: Floats
    is_power: Floats
    stretched: Floats
    step: Floats
    base: float
    n_nights: int = 0


@lru_cache(maxsize=1)
def chance_table() -> Small:
    """Return figures in (0, 1), (TABLE_BLOCKS, TABLE_ROWS, N_DOGS): each row holds every stratum once, mixed.

    Model: the strata (i + 0.5) / N in the order of the hash of Weyl's sequence; a table, not a generator.
    """
    n = TABLE_BLOCKS * TABLE_ROWS * N_DOGS
    x = np.arange(1, n + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    x ^= x >> np.uint64(30)
    x *= np.uint64(0xBF58476D1CE4E5B9)
    x ^= x >> np.uint64(27)
    x *= np.uint64(0x94D049BB133111EB)
    x ^= x >> np.uint64(31)
    order = x.reshape(TABLE_BLOCKS, TABLE_ROWS, N_DOGS).argsort(-1)
    return np.asarray(((order + 0.5) / N_DOGS).astype(np.float32))


def draw_dogs(now: Now, step: int) -> Dogs:
    """Return the dogs of a posterior, each standing for an equal share of it, in practice at this step (0-based).

    Model: quantiles of the posterior in the order of model, then skill or mastered levels, so that a share of either
    is met to within one dog.
    """
    weight, mastery = now.joint
    cells, grid = now.grid.cells, now.grid
    by_skill = np.argsort(grid.skill, axis=1, kind="stable") + len(cells.rate) * np.arange(len(grid.skill))[:, None]
    by_level = np.moveaxis(mastery.sum(0), -1, 0).ravel()
    joint = np.concatenate((weight.sum(0).ravel()[by_skill.ravel()], by_level))
    chosen = np.searchsorted(np.cumsum(joint) / joint.sum(), (np.arange(N_DOGS) + 0.5) / N_DOGS)
    chosen = np.minimum(chosen, len(joint) - 1)
    skilled = by_skill.ravel()[chosen[chosen < by_skill.size]]
    model, cell = np.divmod(skilled, len(cells.rate))
    n_pairs = len(cells.level_rate)
    mastered, rest = np.divmod(chosen[chosen >= by_skill.size] - by_skill.size, 2 * n_pairs)
    law, pair = np.divmod(rest, n_pairs)
    growth = min(learners.MOST_GROWTH, learners.GROWTH_PER_HIT * grid.growth_hits)
    half_life = np.concatenate((cells.half_life[cell], cells.level_half_life[pair]))
    return Dogs(
        n_toward=int((model < 2).sum()),
        n_skill=len(skilled),
        skill=grid.skill.ravel()[skilled],
        mastered=mastered.astype(float),
        rate=np.concatenate((cells.rate[cell], cells.level_rate[pair])),
        half_life=half_life * learners.HALF_LIFE_GROWTH**growth,
        is_power=np.concatenate((model % 2, law)).astype(float),
        stretched=np.full(N_DOGS, growth),
        step=np.full(N_DOGS, float(step)),
        base=grid.prior.base,
    )


def run_course(now: Now, step: int, sessions: Sessions) -> Dogs:
    """Return the dogs as they stand on the morning of the hand-over, after these sessions and their nights."""
    dogs = draw_dogs(now, step)
    table, row = chance_table(), 0
    idle = 0
    for n_today in sessions.per_day:
        if n_today:
            _nights(dogs, idle)
            idle = 0
            row = _day(dogs, now.ladder.delta, n_today, table, row)
        idle += 1
    _nights(dogs, idle)
    return dogs


def _day(dogs: Dogs, delta: Floats, n_sessions: int, table: Small, row: int) -> int:
    form = FORMS[np.searchsorted(np.cumsum(FORM_WEIGHTS)[:2], table[(row + 61) % TABLE_BLOCKS, 0])]
    for session in range(n_sessions):
        for block in range(BLOCKS_A_SESSION):
            _block(dogs, delta, form + learners.tiredness(block, session, session), table[row % TABLE_BLOCKS])
            row += 1
    return row


def _block(dogs: Dogs, delta: Floats, shift: Floats, chances: Small) -> None:
    step = dogs.step.astype(np.intp)
    asked = delta[step]
    n_met = (chances[:BLOCK_TRIALS] < _p(dogs, asked, step, shift)).sum(0)
    _learn(dogs, asked, step, n_met, chances)
    more = np.where(dogs.stretched < learners.MOST_GROWTH, chances[-1] < learners.GROWTH_PER_HIT * n_met, False)
    dogs.half_life = np.where(more, dogs.half_life * learners.HALF_LIFE_GROWTH, dogs.half_life)
    dogs.stretched = dogs.stretched + more
    too_few = np.where(np.arange(N_DOGS) < dogs.n_skill, MET_TO_LOWER, MET_TO_LOWER_BY_LEVELS)
    dogs.step = np.clip(dogs.step + (n_met >= MET_TO_RAISE) - (n_met <= too_few), 0, len(delta) - 1)


def _p(dogs: Dogs, asked: Floats, step: Places, shift: Floats) -> Floats:
    n = dogs.n_skill
    p = np.empty(N_DOGS)
    p[:n] = learners.p_met(dogs.skill, asked[:n], form=shift[:n])
    p[n:] = _p_mastered(dogs.mastered, step[n:], shift[n:])
    return p


def _p_mastered(mastered: Floats, step: Places, shift: Floats | float) -> Floats:
    guess = np.maximum(learners.GUESS, learners.BKT_GUESS - learners.BKT_GUESS_FALL * (step - mastered))
    p = np.where(mastered > step, 1.0 - learners.BKT_SLIP, guess)
    shifted = learners.sigmoid(np.log(p / (1.0 - p)) + shift)
    return np.asarray(np.clip(shifted, learners.GUESS, 1.0 - learners.LAPSE))


def _learn(dogs: Dogs, asked: Floats, step: Places, n_met: Floats, chances: Small) -> None:
    a, n, all_n = dogs.n_toward, dogs.n_skill, BLOCK_TRIALS
    dogs.skill = np.concatenate(
        (
            learners.learn_toward_level(dogs.skill[:a], dogs.rate[:a], asked[:a], all_n, n_met[:a], dogs.base),
            learners.learn_per_success(dogs.skill[a:], dogs.rate[a:n], asked[a:n], all_n, n_met[a:n], dogs.base),
        )
    )
    up = (dogs.mastered == step[n:]) & (chances[-2][n:] < learners.p_step_up(dogs.rate[n:], all_n))
    dogs.mastered = dogs.mastered + up


MOST_NIGHTS = 60
"""Nights told apart for the family that loses levels; more of them only repeat what these have done."""


def _nights(dogs: Dogs, nights: int) -> None:
    """Forget: the law works on the whole gap; mastered levels are lost one a night, each night its own chance."""
    if nights <= 0:
        return
    exponential = np.exp2(-nights / dogs.half_life)
    kept = np.where(dogs.is_power > 0.0, dogs.half_life / (dogs.half_life + nights), exponential)
    n = dogs.n_skill
    dogs.skill = learners.forget(dogs.skill, kept[:n], dogs.base)
    told = min(nights, MOST_NIGHTS)
    kept_a_night = np.asarray(kept[n:] ** (1.0 / told))
    for night in range(told):
        lost = chance_table()[(dogs.n_nights + night) % TABLE_BLOCKS, -2, n:][::-1] > kept_a_night
        dogs.mastered = np.maximum(0.0, dogs.mastered - lost)
    dogs.n_nights += told


def chances_in_test(dogs: Dogs, delta: float, step: int) -> Floats:
    """Return each dog's chance of at least 8 of 10 at a step in a cold test, the day's form integrated."""
    p = np.empty((len(FORMS), N_DOGS))
    for i, form in enumerate(FORMS):
        p[i, : dogs.n_skill] = learners.p_met(dogs.skill, delta, form=form)
        p[i, dogs.n_skill :] = _p_mastered(dogs.mastered, np.full(len(dogs.mastered), step), form)
    return np.asarray(FORM_WEIGHTS @ chance_of_test(p))
