"""A pup learning one behaviour: a skill that grows with what works, tires within a session and fades overnight.

**Model** (all in logits): a try at a step of difficulty d is met with probability
p = lapse / 2 + (1 − lapse) · σ(s + f − w − d), with s the skill, f the form of the day and w the weariness.
A met try adds 1.6 · a · K(p), K(p) = exp(−((p − 0.75) / 0.22)²): most is learnt where it is neither easy nor
hopeless. A missed try takes 0.02. Overnight s → base + (s − base) · 2^(−1/h); a block that went well stretches
the half-life h.

Source: own design (see the page on methods), a performance-factor learner with a zone of best progress. It is a
story to tell a scenario with, not a claim about dogs. Checked in tests/unit/simulation/test_learner.py.
"""

import math
from dataclasses import dataclass

from numpy.random import Generator
from scipy.special import expit

from pupilage.core.simulation.chance import between, happens

BASE_SKILL = -0.3
MAX_SKILL = 6.5
LAPSE = 0.03
MISS_COST = 0.02
HALF_LIFE_GROWTH = 1.8
BLOCK_WEARINESS = 0.15
EARLIER_SESSION_WEARINESS = 0.08
BREAK_SHAPE = 1.4
"""Weibull shape of the time to a break: above 1, a dog grows less settled the longer it holds (own choice)."""


@dataclass(frozen=True)
class Attempt:
    """One try of the simulated pup: whether it was met, how likely that was, and how long the answer took."""

    met: bool
    p_met: float
    latency_s: float


@dataclass
class Learner:
    """The state of one behaviour in one pup.

    skill: logits, 0 means even odds at a step of difficulty 0. rate: logits a met try at best (a above).
    half_life_days: of what was learnt. form: of the day, weariness: of the session, both in logits.
    """

    skill: float
    rate: float
    half_life_days: float = 5.0
    form: float = 0.0
    weariness: float = 0.0

    def p_met(self, step_difficulty: float) -> float:
        """Return the probability that the next try at a step of this difficulty (logits) is met."""
        ease = self.skill + self.form - self.weariness - step_difficulty
        return LAPSE / 2 + (1.0 - LAPSE) * float(expit(ease))

    def attempt(self, step_difficulty: float, rng: Generator) -> Attempt:
        """Return one try at a step of this difficulty (logits), and learn from it."""
        p_met = self.p_met(step_difficulty)
        met = happens(rng, p_met)
        latency_s = self._latency_s(step_difficulty, rng)
        self._learn(met, p_met)
        return Attempt(met, p_met, latency_s)

    def hold(self, step_difficulty: float, target_s: float, rng: Generator) -> float:
        """Return the seconds until the pup would break, and learn from whether it lasted.

        **Model**: P(T ≥ t) = p^((t / target)^k), a Weibull time that reaches the target with probability p.
        target_s: above 0.
        """
        p_met = self.p_met(step_difficulty)
        log_ratio = math.log(between(rng, 1e-12, 1.0)) / math.log(p_met)
        held_s = target_s * math.pow(log_ratio, 1.0 / BREAK_SHAPE)
        self._learn(held_s >= target_s, p_met)
        return held_s

    def begin_session(self, n_earlier_today: int) -> None:
        """Come to a session after this many others on the day: rested, but a little less hungry each time."""
        self.weariness = EARLIER_SESSION_WEARINESS * n_earlier_today

    def after_block(self, n_met: int, rng: Generator) -> None:
        """Grow weary after a block of five; with chance 0.06 a met try, the learning lasts longer from now on."""
        self.weariness += BLOCK_WEARINESS
        if happens(rng, min(1.0, 0.06 * n_met)):
            self.half_life_days *= HALF_LIFE_GROWTH

    def overnight(self, form: float = 0.0) -> None:
        """Sleep: a part of the skill fades, the weariness goes, and the new day has its own form (logits)."""
        kept = math.exp2(-1.0 / self.half_life_days)
        self.skill = BASE_SKILL + (self.skill - BASE_SKILL) * kept
        self.weariness = 0.0
        self.form = form

    def _learn(self, met: bool, p_met: float) -> None:
        gain = 1.6 * self.rate * math.exp(-(((p_met - 0.75) / 0.22) ** 2)) if met else -MISS_COST
        self.skill = min(MAX_SKILL, max(BASE_SKILL - 0.5, self.skill + gain))

    def _latency_s(self, step_difficulty: float, rng: Generator) -> float:
        """Return a lognormal latency whose median falls from 3 s to 0.6 s as the step gets easy."""
        ease = self.skill + self.form - self.weariness - step_difficulty
        median_s = 0.6 + 2.4 * float(expit(-ease))
        return median_s * math.exp(0.3 * float(rng.standard_normal()))


def draw_form(rng: Generator) -> float:
    """Return the form of a day, shared by all behaviours: −0.6, 0 or 0.6 logits, half of the days 0."""
    return float(rng.choice([-0.6, 0.0, 0.0, 0.6]))
