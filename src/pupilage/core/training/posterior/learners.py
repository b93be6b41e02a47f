"""How a dog may learn and forget: the equations that the filter and the planner's value tables share.

Three learner families stand side by side, because a planner that trusts a single one does worse than a fixed rule
when the dog is of another (docs/science/learners.md). Skill s and difficulty delta are in logits. All functions are
pure and broadcast over arrays; none draws a random number.
"""

from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Number = float | NDArray[np.floating[Any]]

GUESS = 0.02
LAPSE = 0.02
"""One odd trial may come from neither skill nor difficulty: without these two a single one could break the filter."""

BASE = -0.4
"""Skill that is left when everything has been forgotten."""

SKILL_BELOW_BASE = 0.5
SKILL_TOP = 6.5
"""Skill stays within [base - SKILL_BELOW_BASE, SKILL_TOP], in the filter and in the simulator alike."""

ASYMPTOTE = 2.2
"""A level that is practised for ever is met with chance 0.90, or 2.2 logits above its difficulty."""

MISS_COST = 0.02
PFA_GAIN = 1.6
PFA_BEST_P = 0.75
PFA_WIDTH = 0.22

BKT_LEARN = 1.3
BKT_SLIP = 0.08
BKT_GUESS = 0.40
BKT_GUESS_FALL = 0.40
BKT_START = 0.3
"""P(j levels are mastered already) falls by this factor for every j."""

HALF_LIFE_GROWTH = 1.8
GROWTH_PER_HIT = 0.06
MOST_GROWTH = 5.0
"""A met trial stretches the half-life of forgetting 1.8-fold with chance 0.06; at most five such steps."""

FORMS = np.array([-0.6, 0.0, 0.6])
FORM_WEIGHTS = np.array([0.25, 0.5, 0.25])
"""The form of a day, in logits, shared by all behaviours of that day."""

SECOND_BLOCK = -0.15
SECOND_SESSION = -0.3
EARLIER_SESSION = -0.08
MOST_TIRED = -1.5
BLOCK_TRIALS = 5

PROMPT_EASE = 1.5
"""Help that the step does not allow makes the try easier by so much (an assumption, common practice)."""


class Family(StrEnum):
    """The three ways of learning. Stored values are fixed for good."""

    TOWARD_LEVEL = "toward-level"
    PER_SUCCESS = "per-success"
    BY_LEVELS = "by-levels"


class Forgetting(StrEnum):
    """The two laws of forgetting. Stored values are fixed for good."""

    EXPONENTIAL = "exponential"
    POWER = "power"


def sigmoid(x: Number) -> Any:
    """Return 1 / (1 + exp(-x)); x is clipped to ±30, where the answer is 0 or 1 to 13 digits."""
    return 1.0 / (1.0 + np.exp(-np.clip(x, -30.0, 30.0)))


def p_met(skill: Number, delta: Number, *, form: Number = 0.0, tired: Number = 0.0) -> Any:
    """Return the chance that a trial of difficulty delta is met.

    Model: guess + (1 - guess - lapse) sigmoid(s - delta + form + tired); all in logits, tired at most 0.
    """
    odds = np.exp(np.minimum(delta - form - tired - skill, 30.0))
    return GUESS + (1.0 - GUESS - LAPSE) / (1.0 + odds)


def bound(skill: Number, base: float = BASE) -> Any:
    """Return the skill within [base - 0.5, 6.5]."""
    return np.minimum(np.maximum(skill, base - SKILL_BELOW_BASE), SKILL_TOP)


def learn_toward_level(skill: Number, rate: Number, delta: Number, n: Number, k: Number, base: float = BASE) -> Any:
    """Return the skill after a block of n trials, k of them met: family TOWARD_LEVEL.

    Model: s + (1 - (1 - a)^k) max(0, delta + 2.2 - s) - 0.02 (n - k); rate a in (0, 1).
    Source: linear operator of Bush and Mosteller, 1955, Stochastic Models for Learning; Rescorla and Wagner, 1972.
    """
    return bound(skill + gain_toward_level(skill, share_learned(rate, k), delta) - MISS_COST * (n - k), base)


def share_learned(rate: Number, k: Number) -> Any:
    """Return the share of the way to a level's asymptote that k met trials take: 1 - (1 - a)^k."""
    return 1.0 - (1.0 - rate) ** k


def gain_toward_level(skill: Number, share: Number, delta: Number) -> Any:
    """Return what this share of the way adds to a skill, in logits: see `learn_toward_level`."""
    return share * np.maximum(0.0, delta + ASYMPTOTE - skill)


def learn_per_success(skill: Number, rate: Number, delta: Number, n: Number, k: Number, base: float = BASE) -> Any:
    """Return the skill after a block of n trials, k of them met: family PER_SUCCESS.

    Model: s + 1.6 a k exp(-((p - 0.75) / 0.22)^2) - 0.02 (n - k), p the chance of a trial before the block.
    Source: performance factors analysis (Pavlik, Cen and Koedinger, 2009), with the gain weighted towards
    middling difficulty as in Wilson et al., 2019, "The eighty five percent rule for optimal learning".
    """
    return learn_at_chance(skill, rate, p_met(skill, delta), n, k, base)


def learn_at_chance(skill: Number, rate: Number, p: Number, n: Number, k: Number, base: float = BASE) -> Any:
    """Return the skill after a block met with chance p a trial, form and weariness included: family PER_SUCCESS."""
    return bound(skill + gain_at_chance(rate, p, k) - MISS_COST * (n - k), base)


def gain_at_chance(rate: Number, p: Number, k: Number) -> Any:
    """Return what k trials met with chance p each add to a skill, in logits: see `learn_per_success`."""
    return PFA_GAIN * rate * k * np.exp(-(((p - PFA_BEST_P) / PFA_WIDTH) ** 2))


def p_met_by_levels(n_levels: int, level: int, *, form: Number = 0.0, tired: Number = 0.0) -> Any:
    """Return the chance of a trial at a level (0-based) for 0 … n_levels mastered levels: family BY_LEVELS.

    Model: 1 - slip when more than `level` levels are mastered, else guess 0.40 - 0.40 (level - mastered) floored at
    GUESS; form and tiredness shift the logit. Returned along the last axis; form is given with a trailing axis.
    Source: Corbett and Anderson, 1995, "Knowledge tracing"; checked against pyBKT in
    tests/external/test_learner_families.py.
    """
    mastered = np.arange(n_levels + 1)
    guess = np.maximum(GUESS, BKT_GUESS - BKT_GUESS_FALL * (level - mastered))
    p = np.where(mastered > level, 1.0 - BKT_SLIP, guess)
    return np.clip(sigmoid(np.log(p / (1.0 - p)) + form + tired), GUESS, 1.0 - LAPSE)


def p_step_up(rate: Number, n: Number) -> Any:
    """Return the chance that n trials at the next level master it: 1 - (1 - T)^n with T = 1.3 a, at most 0.95."""
    return 1.0 - (1.0 - np.minimum(0.95, BKT_LEARN * rate)) ** n


def learn_by_levels(mastery: Floats, rate: Number, level: int, n: int) -> Floats:
    """Return the distribution over mastered levels (last axis) after n trials at a level: family BY_LEVELS.

    Only the next level can be learned: mastery j = level moves to level + 1 with chance `p_step_up`.
    rate broadcasts over the leading axes.
    """
    after = np.array(mastery)
    moved = after[..., level] * p_step_up(rate, n)
    after[..., level] -= moved
    after[..., level + 1] += moved
    return after


def start_by_levels(n_levels: int) -> Floats:
    """Return the prior over levels mastered before the first trial: 0.3^j, normalised."""
    weights = BKT_START ** np.arange(n_levels + 1)
    return np.asarray(weights / weights.sum())


def retained(days: Number, half_life: Number, law: Forgetting) -> Any:
    """Return the share of skill above the base that is left after `days` (0 or more) without practice.

    Model: exponential 2^(-days / h); power h / (h + days), which also leaves a half after h days.
    Source: Wixted and Ebbesen, 1991, "On the form of forgetting".
    """
    if law is Forgetting.EXPONENTIAL:
        return np.exp2(-days / half_life)
    return half_life / (half_life + days)


def forget(skill: Number, share: Number, base: float = BASE) -> Any:
    """Return the skill of which only this share above the base is retained."""
    return base + (skill - base) * share


def forget_by_levels(mastery: Floats, share_kept: Floats, nights: int) -> Floats:
    """Return the distribution over mastered levels after nights that each lose one level with some chance.

    Model: one level is lost a night with chance q = 1 - share_kept^(1/nights). share_kept broadcasts over the
    leading axes; more than 400 nights lose no more than 400 do.
    """
    if nights <= 0:
        return mastery
    lost_share = np.asarray(1.0 - share_kept ** (1.0 / nights))[..., None]
    after = np.array(mastery)
    for _ in range(min(nights, 400)):
        lost = after[..., 1:] * lost_share
        after[..., 1:] -= lost
        after[..., :-1] += lost
    return after


def growth_of(n_met: Number) -> Any:
    """Return the expected factor on the half-life after n_met met trials: 1.8^min(5, 0.06 n_met)."""
    return HALF_LIFE_GROWTH ** np.minimum(MOST_GROWTH, GROWTH_PER_HIT * n_met)


def tiredness(block_in_session: int, earlier_of_behaviour: int, earlier_sessions: int) -> float:
    """Return the logits that tiredness takes, 0 to -1.5.

    Parameters: block_in_session from 0; earlier_of_behaviour, sessions of the behaviour before this one today;
    earlier_sessions, all sessions before this one today. Each is 0 or more.
    """
    total = (
        SECOND_BLOCK * min(1, block_in_session)
        + SECOND_SESSION * min(1, earlier_of_behaviour)
        + EARLIER_SESSION * earlier_sessions
    )
    return max(MOST_TIRED, total)
