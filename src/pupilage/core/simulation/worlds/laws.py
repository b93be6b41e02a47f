"""The laws by which simulated dogs act, learn and forget: the engine's own equations, as the worlds need them.

Constants and the shared functions come from `core.training.learners`, so that worlds, filter and values cannot
disagree. What differs is said at the function: guess and lapse may be set, and PFA's gain sees the day's form.
The constants are plausible guesses (docs/science/simulated-worlds.md). Checked in
tests/unit/simulation/test_worlds.py.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from pupilage.core.training.posterior import learners

Array = NDArray[np.floating[Any]]
Count = NDArray[np.integer[Any]] | Array | float
Number = Count

FORMS = tuple(float(form) for form in learners.FORMS)
P_FORMS = tuple(float(weight) for weight in learners.FORM_WEIGHTS)
HALF_LIFE_GROWTH = learners.HALF_LIFE_GROWTH
P_GROWTH = learners.GROWTH_PER_HIT
TIRED_SECOND_BLOCK = learners.SECOND_BLOCK
TIRED_SECOND_SESSION = learners.SECOND_SESSION
TIRED_EARLIER_SESSION = learners.EARLIER_SESSION
MAX_SKILL = learners.SKILL_TOP
BELOW_BASE = learners.SKILL_BELOW_BASE


def p_met(
    skill: Number,
    difficulty: Number,
    *,
    form: Number = 0.0,
    tired: Number = 0.0,
    guess: float = learners.GUESS,
    lapse: float = learners.LAPSE,
) -> Array:
    """Return the probability that one trial is met by a dog of RW or PFA kind (all arguments in logits)."""
    p: Array = guess + (1.0 - guess - lapse) * expit(np.asarray(skill + form + tired - difficulty))
    return p


def p_met_bkt(mastered: Count, level: Count, *, form: Number = 0.0, tired: Number = 0.0) -> Array:
    """Return the probability that one trial at `level` is met by a dog that has mastered levels 0 .. mastered − 1.

    Model: 1 − slip below `mastered`, else max(0.02, 0.40 − 0.40 gap); form and weariness shift its logit.
    """
    gap = np.asarray(level) - np.asarray(mastered)
    p = np.where(gap < 0, 1.0 - learners.BKT_SLIP, _bkt_guess(gap))
    return expit(logit(p) + form + tired)


def _bkt_guess(gap: Array) -> Array:
    guess: Array = np.maximum(learners.GUESS, learners.BKT_GUESS - learners.BKT_GUESS_FALL * np.maximum(gap, 0))
    return guess


def gain_rw(skill: Number, rate: Number, difficulty: Number, n_met: Count, n: Count) -> Array:
    """Return the change of an RW skill in a block: (1 − (1 − a)^k) max(0, d + 2.2 − s) − 0.02 (n − k)."""
    room = np.maximum(0.0, difficulty + learners.ASYMPTOTE - skill)
    change: Array = (1.0 - np.power(1.0 - rate, n_met)) * room - learners.MISS_COST * (np.asarray(n) - n_met)
    return change


def gain_pfa(rate: Number, p: Number, n_met: Count, n: Count) -> Array:
    """Return the change of a PFA skill in a block: 1.6 a k exp(−((p − .75) / .22)²) − 0.02 (n − k).

    p is the chance of a trial as the dog meets it, form and weariness included (the engine's filter leaves them out).
    """
    bump = np.exp(-np.square((p - learners.PFA_BEST_P) / learners.PFA_WIDTH))
    change: Array = learners.PFA_GAIN * rate * bump * n_met - learners.MISS_COST * (np.asarray(n) - n_met)
    return change


def p_mastering(rate: Number, n: Count) -> Array:
    """Return BKT's probability that a block of n trials at the next level masters it: 1 − (1 − 1.3 a)^n."""
    p: Array = learners.p_step_up(np.asarray(rate, dtype=np.float64), np.asarray(n, dtype=np.float64))
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
