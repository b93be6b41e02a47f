"""The simulated dogs of one world, all at once: what they do in a block, what they learn, what a night takes."""

from dataclasses import dataclass, field

import numpy as np

from pupilage.core.simulation.worlds import laws
from pupilage.core.simulation.worlds.laws import FORMS, P_FORMS, Array
from pupilage.core.simulation.worlds.regimes import (
    BLOCK,
    N_STRETCHES,
    SPACINGS,
    Chance,
    Dogs,
    Flags,
    Truth,
    Whole,
    World,
)
from pupilage.core.simulation.worlds.scoring import p_pass

OUT_HIT = 1.3
OUT_MISS = 0.5
OUT_LAPSE = 0.05
OUT_TAU_DAYS = 2.0
"""The family outside: gains for hits and misses alike at any level, power-law forgetting, one lapse in twenty."""

LATENCY_SLOPE = 0.22
LATENCY_SD = 0.45
"""Log seconds: an answer comes 22 % sooner a logit of ease, with a wide scatter; only met trials have one."""


def first_mastered(skill: Array, spacing: Array, n_levels: int) -> Whole:
    """Return how many levels a BKT dog has mastered whose first skill is this: those whose difficulty it covers."""
    n: Whole = np.clip(np.floor(skill / spacing + 0.5), 0, n_levels).astype(np.int64)
    return n


@dataclass
class Kennel:
    """N dogs. A block concerns at most one behaviour a dog; `rows` are those that train, arguments (len(rows),)."""

    world: World
    dogs: Dogs
    chance: Chance
    skill: Array = field(init=False)
    mastered: Whole = field(init=False)
    stretch: Whole = field(init=False)
    days_since: Whole = field(init=False)
    n_blocks: Whole = field(init=False)

    def __post_init__(self) -> None:
        regime = self.world.regime
        self.spacing = np.asarray(SPACINGS)[self.dogs.spacing_index]
        self.rate = regime.rates[self.dogs.rate_index] * regime.rate_factor
        self.skill = laws.bounded(self.dogs.skill.copy(), regime.base)
        self.mastered = first_mastered(self.skill, self.spacing, 6)
        self.stretch = self.dogs.stretch.copy()
        self.days_since = np.zeros_like(self.stretch)
        self.n_blocks = np.zeros_like(self.stretch)

    @property
    def half_life_days(self) -> Array:
        """Half-lives (N, B) in days."""
        lives: Array = self.world.regime.half_lives[self.stretch]
        return lives

    def p(self, rows: Whole, behaviour: Whole, level: Whole, *, form: Array, tired: Array) -> Array:
        """Return the true probability of one trial."""
        if self.world.truth is Truth.BKT:
            return laws.p_met_bkt(self.mastered[rows, behaviour], level, form=form, tired=tired)
        guess, lapse = self.world.guess, self.world.lapse
        if self.world.truth is Truth.OUT:
            guess, lapse = 0.0, OUT_LAPSE
        difficulty = level * self.spacing[rows, behaviour]
        return laws.p_met(self.skill[rows, behaviour], difficulty, form=form, tired=tired, guess=guess, lapse=lapse)

    def train(self, rows: Whole, behaviour: Whole, level: Whole, *, form: Array, tired: Array) -> tuple[Flags, Array]:
        """Run a block of five; return which were met and the latencies (NaN: none), both (len(rows), 5)."""
        p = self.p(rows, behaviour, level, form=form, tired=tired)
        block = self.n_blocks[rows, behaviour]
        met = self.chance.trial[rows, behaviour, block] < p[:, None]
        n_met: Whole = met.sum(1)
        latency = self._latency(rows, behaviour, block, p, met)
        self._learn(rows, behaviour, level, p, n_met)
        grows = self.chance.growth[rows, behaviour, block] < laws.P_GROWTH * n_met
        self.stretch[rows, behaviour] = np.minimum(N_STRETCHES - 1, self.stretch[rows, behaviour] + grows)
        self.n_blocks[rows, behaviour] = block + 1
        self.days_since[rows, behaviour] = 0
        return met, latency

    def _latency(self, rows: Whole, behaviour: Whole, block: Whole, p: Array, met: Flags) -> Array:
        """Return seconds: log-normal about the dog's own pace, sooner the easier the trial is for it."""
        ease = np.log(p) - np.log1p(-np.minimum(p, 0.995))
        noise = LATENCY_SD * self.chance.latency[rows, behaviour, block]
        log_s = (self.dogs.pace[rows] - LATENCY_SLOPE * ease)[:, None] + noise
        return np.where(met, np.exp(log_s), np.nan) if self.world.latency else np.full(met.shape, np.nan)

    def _learn(self, rows: Whole, behaviour: Whole, level: Whole, p: Array, n_met: Whole) -> None:
        at = (rows, behaviour)
        rate, skill = self.rate[at], self.skill[at]
        if self.world.truth is Truth.BKT:
            lucky = self.chance.mastery[rows, behaviour, self.n_blocks[at]] < laws.p_mastering(rate, BLOCK)
            self.mastered[at] += (level == self.mastered[at]) & lucky
            return
        if self.world.truth is Truth.RW:
            gain = laws.gain_rw(skill, rate, level * self.spacing[at], n_met, BLOCK)
        elif self.world.truth is Truth.PFA:
            gain = laws.gain_pfa(rate, p, n_met, BLOCK)
        else:
            gain = rate * (OUT_HIT * n_met + OUT_MISS * (BLOCK - n_met))
        self.skill[at] = laws.bounded(skill + gain, self.world.regime.base)

    def overnight(self, day: int) -> None:
        """Let the night after `day` (0-based) take its part."""
        base, lives = self.world.regime.base, self.half_life_days
        if self.world.truth is Truth.BKT:
            forgets = self.chance.night[:, :, day] > laws.kept_exponential(lives)
            self.mastered = np.maximum(0, self.mastered - forgets)
        elif self.world.truth is Truth.OUT:
            kept = laws.kept_power(laws.psi_of(lives, tau_days=OUT_TAU_DAYS), self.days_since, tau_days=OUT_TAU_DAYS)
            self.skill = base + (self.skill - base) * kept
        else:
            self.skill = base + (self.skill - base) * laws.kept_exponential(lives)
        self.days_since += 1

    def goal_chances(self) -> Array:
        """Return the chance (N, B) that each goal is met cold today, the day's form integrated."""
        n, n_behaviours = self.dogs.goal.shape
        rows, columns = (x.ravel() for x in np.indices((n, n_behaviours)))
        cold, chance = np.zeros(len(rows)), np.zeros(len(rows))
        for form, weight in zip(FORMS, P_FORMS, strict=True):
            p = self.p(rows, columns, self.dogs.goal.ravel(), form=cold + form, tired=cold)
            chance += weight * p_pass(p)
        return chance.reshape(n, n_behaviours)
