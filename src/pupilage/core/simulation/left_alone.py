"""Pups whose tolerance of being alone grows, left by one rule or another: distress, and growth.

The worlds are assumptions: nobody has measured how a pup's tolerance moves from absence to absence.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from math import exp, log

import numpy as np
from numpy.random import Generator

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.incidents.alone import FIRST_S, SURE, Absence, Sign, next_absence, read_calm

FIRST_DAY = datetime(2026, 5, 4, 8, tzinfo=UTC)
N_DAYS = 21
A_DAY = 5
"""Absences a day: between naps, one at a time."""

AFTER_DAYS = (7, 14, 21)
AGE_WEEKS = 9.0
LEAST_SCALE_S, MOST_SCALE_S = 3.0, 4 * 3600.0
"""No pup's scale leaves these."""

FAR_OVER = 3.0
"""An absence of so many times the pup's own scale is far over what it bears."""


class Rule(StrEnum):
    """How the next absence is chosen."""

    PROPOSED = "the proposals"
    DOUBLE = "double when calm, half when not"
    DOUBLE_AFTER_THREE = "double after three calm, half when not"


class World(StrEnum):
    """What the pups are like at first: the median of their scales, and how widely they differ."""

    TENDER = "tender"
    EASY = "easy"


SCALES = {World.TENDER: (40.0, 1.2), World.EASY: (3600.0, 0.6)}
"""Median scale in seconds, sd of its logarithm. Most pups of 7 to 17 weeks bear an hour (Cannas et al., 2010)."""


@dataclass(frozen=True)
class Nature:
    """A pup. Time to the first sign is Weibull with this scale at first; shape: how alike its absences are.

    gain: what a calm absence as long as its scale adds to the log of the scale; loss: what distress takes off it.
    """

    scale_s: float
    shape: float
    gain: float
    loss: float


@dataclass(frozen=True)
class Stay:
    """A pup's absences and its true calm time (nine in ten) after each day, in seconds.

    n_far_over: absences far over what it bears; covered: the share of days on which the 90 % interval held the truth.
    """

    absences: tuple[Absence, ...]
    true_sure_s: tuple[float, ...]
    n_far_over: int
    covered: float


@dataclass(frozen=True)
class AloneScore:
    """All pups of a rule, as shares of absences, and at the end of 7, 14 and 21 days.

    sure_s: the true calm time, median; sure_low_s: its lowest tenth; longest_s: the longest calm absence, median.
    """

    n_pups: int
    p_distress: float
    p_distress_error: float
    p_far_over: float
    sure_s: tuple[float, ...]
    sure_low_s: tuple[float, ...]
    longest_s: tuple[float, ...]
    covered: float


def leave_pups(
    n_pups: int, rule: Rule, world: World, *, seed: int, each: Callable[[], None] = lambda: None
) -> AloneScore:
    """Return how n pups fare under a rule. The same seed draws the same pups for every rule."""
    stays = []
    for n in range(n_pups):
        rng = np.random.default_rng([seed, n])
        stays.append(leave_pup(draw_nature(rng, world), rule, rng))
        each()
    return _score(stays)


def draw_nature(rng: Generator, world: World) -> Nature:
    """Return a pup of a world."""
    median_s, spread = SCALES[world]
    return Nature(
        scale_s=exp(log(median_s) + spread * float(rng.standard_normal())),
        shape=float(rng.uniform(1.2, 3.0)),
        gain=float(rng.uniform(0.05, 0.25)),
        loss=float(rng.uniform(0.05, 0.4)),
    )


def leave_pup(nature: Nature, rule: Rule, rng: Generator) -> Stay:
    """Return a pup's stay of three weeks under a rule."""
    scale_s, absences, sure_s, n_far_over, held = nature.scale_s, list[Absence](), list[float](), 0, 0
    for day in range(N_DAYS):
        for n in range(A_DAY):
            planned_s = next_length_s(rule, absences, AGE_WEEKS + day / 7.0)
            until_sign_s = scale_s * float(rng.weibull(nature.shape))
            n_far_over += planned_s > FAR_OVER * scale_s
            at = FIRST_DAY + timedelta(days=day, hours=2 * n)
            if until_sign_s < planned_s:
                absences.append(Absence(at, max(0.5, until_sign_s), Sign.WHINING))
                scale_s = max(LEAST_SCALE_S, scale_s * exp(-nature.loss))
            else:
                absences.append(Absence(at, planned_s))
                scale_s = min(MOST_SCALE_S, scale_s * exp(nature.gain * min(1.0, planned_s / scale_s)))
        sure_s.append(scale_s * (-log(SURE)) ** (1.0 / nature.shape))
        calm = read_calm(absences)
        held += calm.low_s <= sure_s[-1] <= calm.high_s
    return Stay(tuple(absences), tuple(sure_s), n_far_over, held / N_DAYS)


def next_length_s(rule: Rule, absences: Sequence[Absence], age_weeks: float) -> float:
    """Return the next absence by a rule."""
    if rule is Rule.PROPOSED:
        return next_absence(absences, age_weeks=age_weeks).seconds or FIRST_S
    planned_s, n_calm = FIRST_S, 0
    for one in absences:
        if one.sign is not Sign.NONE:
            planned_s, n_calm = max(1.0, planned_s / 2.0), 0
            continue
        n_calm += 1
        if rule is Rule.DOUBLE or n_calm == 3:
            planned_s, n_calm = 2.0 * planned_s, 0
    return min(planned_s, 3600.0 * max_confinement_hours(age_weeks))


def _score(stays: Sequence[Stay]) -> AloneScore:
    shares = np.array([np.mean([one.sign is not Sign.NONE for one in stay.absences]) for stay in stays])
    after = np.array([[stay.true_sure_s[day - 1] for day in AFTER_DAYS] for stay in stays])
    longest = np.array([[_longest_calm_s(stay.absences[: A_DAY * day]) for day in AFTER_DAYS] for stay in stays])
    n_absences = N_DAYS * A_DAY
    return AloneScore(
        n_pups=len(stays),
        p_distress=float(shares.mean()),
        p_distress_error=float(shares.std(ddof=1)) / len(stays) ** 0.5,
        p_far_over=float(np.mean([stay.n_far_over / n_absences for stay in stays])),
        sure_s=tuple(float(x) for x in np.median(after, axis=0)),
        sure_low_s=tuple(float(x) for x in np.quantile(after, 0.1, axis=0)),
        longest_s=tuple(float(x) for x in np.median(longest, axis=0)),
        covered=float(np.mean([stay.covered for stay in stays])),
    )


def _longest_calm_s(absences: Sequence[Absence]) -> float:
    return max((one.seconds for one in absences if one.sign is Sign.NONE), default=0.0)
