"""The laws by which simulated dogs act, learn and forget: three learner families as plain array functions.

**Model**, all in logits: a skill s meets a step of difficulty d with p = g + (1 − g − e) σ(s − d + form + tired).
RW gains towards the step's own asymptote, PFA most where success is neither certain nor hopeless, BKT masters one
level after the other. Nights take a part back, by a half-life or by a power of the days since practice.
Source: Rescorla & Wagner, 1972 (RW); Pavlik, Cen & Koedinger, 2009 (PFA); Corbett & Anderson, 1995 (BKT). The
constants are plausible guesses, not estimates (docs/science/simulated-worlds.md). Checked in
tests/unit/simulation/test_worlds.py.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

Array = NDArray[np.floating[Any]]
Count = NDArray[np.integer[Any]] | Array | float
Number = Count

GUESS = 0.02
LAPSE = 0.02
"""No step is met never, or always."""

MAX_SKILL = 6.5
BELOW_BASE = 0.5
"""Skill stays within [base − 0.5, 6.5] logits."""

HEADROOM = 2.2
"""RW learns towards s = d + 2.2, where p is 0.90."""

MISS_COST = 0.02
"""Logits that one missed trial takes (RW and PFA)."""

PFA_GAIN = 1.6
PFA_BEST = 0.75
PFA_WIDTH = 0.22

SLIP = 0.08
BKT_GUESS = 0.40
BKT_GUESS_FALL = 0.40
BKT_RATE = 1.3
"""BKT: mastered levels are missed 8 in 100; the next one is guessed 40 in 100, those beyond it hardly ever."""

FORMS = (-0.6, 0.0, 0.6)
P_FORMS = (0.25, 0.5, 0.25)
"""The day's form in logits, shared by all behaviours of the day."""

TIRED_SECOND_BLOCK = -0.15
TIRED_SECOND_SESSION = -0.30
TIRED_EARLIER_SESSION = -0.08
"""Weariness in logits: within the session, by this behaviour's earlier session today, by any earlier session."""

HALF_LIFE_GROWTH = 1.8
P_GROWTH = 0.06
"""A block with k met trials stretches the half-life x 1.8 with probability 0.06 k."""


def p_met(
    skill: Number,
    difficulty: Number,
    *,
    form: Number = 0.0,
    tired: Number = 0.0,
    guess: float = GUESS,
    lapse: float = LAPSE,
) -> Array:
    """Return the probability that one trial is met by a dog of RW or PFA kind (all arguments in logits)."""
    p: Array = guess + (1.0 - guess - lapse) * expit(np.asarray(skill + form + tired - difficulty))
    return p


def p_met_bkt(mastered: Count, level: Count, *, form: Number = 0.0, tired: Number = 0.0) -> Array:
    """Return the probability that one trial at `level` is met by a dog that has mastered levels 0 .. mastered − 1.

    Model: 1 − slip below `mastered`, else max(0.02, 0.40 − 0.40 gap); form and weariness shift its logit.
    """
    gap = np.asarray(level) - np.asarray(mastered)
    p = np.where(gap < 0, 1.0 - SLIP, _bkt_guess(gap))
    return expit(logit(p) + form + tired)


def _bkt_guess(gap: Array) -> Array:
    guess: Array = np.maximum(GUESS, BKT_GUESS - BKT_GUESS_FALL * np.maximum(gap, 0))
    return guess


def gain_rw(skill: Number, rate: Number, difficulty: Number, n_met: Count, n: Count) -> Array:
    """Return the change of an RW skill in a block: (1 − (1 − a)^k) max(0, d + 2.2 − s) − 0.02 (n − k)."""
    room = np.maximum(0.0, difficulty + HEADROOM - skill)
    change: Array = (1.0 - np.power(1.0 - rate, n_met)) * room - MISS_COST * (np.asarray(n) - n_met)
    return change


def gain_pfa(rate: Number, p: Number, n_met: Count, n: Count) -> Array:
    """Return the change of a PFA skill in a block: 1.6 a k exp(−((p − .75) / .22)²) − 0.02 (n − k).

    p is the chance of a trial as the dog meets it, form and weariness included.
    """
    bump = np.exp(-np.square((p - PFA_BEST) / PFA_WIDTH))
    change: Array = PFA_GAIN * rate * bump * n_met - MISS_COST * (np.asarray(n) - n_met)
    return change


def p_mastering(rate: Number, n: Count) -> Array:
    """Return BKT's probability that a block of n trials at the next level masters it: 1 − (1 − 1.3 a)^n."""
    p: Array = 1.0 - np.power(1.0 - np.minimum(0.95, BKT_RATE * np.asarray(rate)), n)
    return p


def bounded(skill: Array, base: Number) -> Array:
    """Return the skill within [base − 0.5, 6.5] logits."""
    return np.clip(skill, base - BELOW_BASE, MAX_SKILL)


def kept_exponential(half_life_days: Number, days: Number = 1.0) -> Array:
    """Return the part of s − base left after `days` without practice: 2^(−days / h)."""
    kept: Array = np.exp2(-np.asarray(days) / half_life_days)
    return kept


def kept_power(psi: Number, days_since: Number, days: Number = 1.0, *, tau_days: float = 1.0) -> Array:
    """Return the part left by the law (τ / (τ + t))^ψ between `days_since` and `days_since + days` after practice."""
    kept: Array = np.power((tau_days + days_since) / (tau_days + np.asarray(days_since) + days), psi)
    return kept


def psi_of(half_life_days: Number, *, tau_days: float = 1.0) -> Array:
    """Return the exponent of the power law that, like the exponential one, keeps one half after the half-life."""
    psi: Array = np.log(2.0) / np.log1p(np.asarray(half_life_days) / tau_days)
    return psi
