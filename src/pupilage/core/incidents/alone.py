"""Time alone: how long the pup stays calm, and how long the next absence should be.

An absence ends with the first sign of distress (seen on video, or heard), or with the person coming back before any:
then it only tells that the pup could have stayed calm for longer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.criterion.holds import fleshler_hoffman
from pupilage.core.words import Sentence, sentence

SURE = 0.9
"""Chance of staying calm that an absence is planned at. Graded absences stay below what triggers distress: common
practice; the figure is an assumption."""

FADES = 0.9
"""Weight of an absence beside the next one: the pup changes (an assumption; ten absences later it counts a third)."""

FIRST_S = 5.0
"""The first absence of all: one step through the door and back. Common practice, no source."""

MOST_BEYOND = 1.5
"""The next absence is at most so many times the longest calm one (as for stays; an assumption)."""

BACK = 0.5
"""After a sign, the next absence is at most this share of the time until the sign (an assumption)."""

TERMS = 6

MEAN_SHARE = 0.9
"""Mean of the list beside the longest length, before the longest are cut: half of the absences are then that long.

With 0.6 and a typical time of one minute a pup that is always calm came to 40 s in 120 absences: docs/science/alone.md.
"""

TYPICAL_S, SPREAD = 300.0, 2.2
"""Beforehand: the time to the first sign is around five minutes, and nine pups in ten lie between 8 s and 3 h.

An assumption: 32 pups of 7 to 17 weeks, filmed alone for an hour, cried for 2.7 min on average and 3 showed distress
(Cannas et al., 2010, J. Vet. Behav.), but the first whine was not timed. Proposals start far below it.
"""

_LOG_SCALE = np.linspace(log(0.3), log(72 * 3600.0), 241)
_SHAPES = np.array([0.7, 1.0, 1.5, 2.2])


class Sign(StrEnum):
    """A sign of distress; `panic.is_panic` says which are more than that. Stored values are fixed for good."""

    NONE = "none"
    WHINING = "whining"
    BARKING = "barking"
    HOWLING = "howling"
    PACING = "pacing"
    SCRATCHING = "scratching"
    PANTING = "panting"
    TOILET = "toilet"
    DAMAGE = "damage"
    PANIC = "panic"
    """Beside itself: throws itself about, cannot settle after the return."""
    DROOLING = "drooling"
    ESCAPE = "escape"
    """Bites at the exit or throws itself against it; scratching is not yet that."""
    INJURY = "injury"
    NOT_EATING = "not-eating"
    """Leaves food that it takes when somebody is there. By itself no distress: a sleepy pup does not eat either."""


@dataclass(frozen=True)
class Absence:
    """One absence. seconds: until the first sign, or until the person came back before any (Sign.NONE); above 0.

    known: False where a sign was only found afterwards, so that it came at some time within the seconds. panic: the
    signs together were panic (`panic.is_panic`), whatever the first one was.
    """

    at: datetime
    seconds: float
    sign: Sign = Sign.NONE
    known: bool = True
    panic: bool = False


@dataclass(frozen=True)
class Calm:
    """How long the pup stays calm. sure_s: with nine in ten; likely_s: with one in two; low_s, high_s of sure_s (90 %).

    prior_share: how much of the answer is still what is expected of any pup, 0 to 1; n absences.
    """

    sure_s: float
    likely_s: float
    low_s: float
    high_s: float
    prior_share: float
    n: int


@dataclass(frozen=True)
class NextAbsence:
    """The next absence, and why; seconds is None where none is to be tried."""

    seconds: float | None
    reason: Sentence


@dataclass(frozen=True)
class Ceiling:
    """The most seconds that the pup may be left now, whatever it bears, and why."""

    seconds: float
    reason: Sentence


def read_calm(absences: Sequence[Absence]) -> Calm:
    """Return how long the pup stays calm, from all absences, the newest counting most.

    Model: time to the first sign is Weibull, S(t) = exp(−(t ÷ λ)^k), k one of four shapes; log λ is normal around five
    minutes (sd 2.2) beforehand; the likelihood of the i-th newest is raised to 0.9^i: density for a sign, S where none
    came, 1 − S where it was only found afterwards. Exact on a grid.
    Raises: InvalidInput for seconds that cannot be.
    Source: the Weibull with censoring is standard; medians with no fading are checked against the closed form for
    k = 1 in tests/unit/incidents/test_alone.py.
    """
    ordered = _in_order(absences)
    weights = _posterior(ordered)
    sure, likely = _quantile(weights, SURE), _quantile(weights, 0.5)
    low, high = _spread_of_sure(weights)
    total = sum(FADES**i for i in range(len(ordered)))
    return Calm(sure, likely, low, high, 1.0 / (1.0 + total), len(ordered))


def next_absence(absences: Sequence[Absence], *, age_weeks: float, ceiling: Ceiling | None = None) -> NextAbsence:
    """Return how long the next absence should be: the first of `next_absences`."""
    return next_absences(absences, age_weeks=age_weeks, n=1, ceiling=ceiling)[0]


def next_absences(
    absences: Sequence[Absence], *, age_weeks: float, n: int = 4, ceiling: Ceiling | None = None
) -> list[NextAbsence]:
    """Return the next few absences, for as long as each of them stays calm.

    Lengths vary below what the pup is sure to bear: six of the constant-probability list, the longest cut to that, in
    an order that nobody counts on. Never beyond 1.5 times the longest calm one, half the time to the last sign, or the
    ceiling: that for its age (`max_confinement_hours`) or the given one, whichever is lower. After panic there is one
    answer, none: that is a veterinarian's matter.
    """
    ordered = _in_order(absences)
    most = _lower(_for_age(age_weeks), ceiling)
    if any(absence.panic or absence.sign is Sign.PANIC for absence in ordered):
        return [NextAbsence(None, NO_MORE)]
    if not ordered:
        reason = sentence("The first absence: through the door and back, before any sign.")
        return [NextAbsence(FIRST_S, reason)] * n
    calm = read_calm(ordered)
    return [_one_of(ordered, calm, place=len(ordered) + i, most=most) for i in range(n)]


NO_MORE = sentence(
    "It has panicked alone: leave it alone no more for now, and ask a veterinarian, who may send you to a "
    "veterinary behaviourist. Longer absences do not teach this."
)


def _one_of(ordered: Sequence[Absence], calm: Calm, *, place: int, most: Ceiling) -> NextAbsence:
    """Return the length at a place of the list."""
    last = ordered[-1]
    if last.sign is not Sign.NONE:
        shorter = min(BACK * last.seconds, calm.sure_s, most.seconds)
        return NextAbsence(_handy(shorter), _too_long(last))
    beyond = MOST_BEYOND * max((a.seconds for a in ordered if a.sign is Sign.NONE), default=FIRST_S)
    limit = min(calm.sure_s, beyond, most.seconds)
    seconds = _handy(min(limit, _varied(limit, place)))
    if limit == most.seconds:
        return NextAbsence(seconds, most.reason)
    return NextAbsence(
        seconds,
        sentence("Calm for {limit} is likely in nine of ten; lengths vary below that.", limit=span(limit)),
    )


def _too_long(last: Absence) -> Sentence:
    if not last.known:
        return sentence(
            "The last one was too long: a sign was found after {s}. Come back much sooner.", s=span(last.seconds)
        )
    return sentence("The last one was too long: a sign after {s}. Come back well before it.", s=span(last.seconds))


def _for_age(age_weeks: float) -> Ceiling:
    hours = max_confinement_hours(age_weeks)
    reason = sentence("No longer than {hours:.1f} h at its age, however calm it is.", hours=hours)
    return Ceiling(hours * 3600.0, reason)


def _lower(one: Ceiling, other: Ceiling | None) -> Ceiling:
    return one if other is None or one.seconds <= other.seconds else other


def span(seconds: float) -> str:
    """Return a span in a sentence's own short form: `40 s`, `2 min 30 s`, `1 h 5 min`."""
    whole = max(1, round(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole if whole < 600 else 60 * round(whole / 60), 60)
    if minutes < 60:
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"


def _handy(seconds: float) -> float:
    """Return a length that a person can keep to: whole seconds, then 5 s, 15 s, whole minutes; never longer."""
    step = next(step for below, step in HANDY if seconds < below)
    return max(1.0, step * float(np.floor(seconds / step)))


HANDY = ((30.0, 1.0), (120.0, 5.0), (600.0, 15.0), (float("inf"), 60.0))


def _varied(limit_s: float, n_before: int) -> float:
    """Return one length of a list whose mean is a share of the limit; the order repeats only after all were used."""
    terms = fleshler_hoffman(TERMS, MEAN_SHARE * limit_s)
    order = (2, 4, 1, 5, 0, 3)
    return terms[order[n_before % TERMS]]


def _posterior(ordered: Sequence[Absence]) -> NDArray[np.float64]:
    """Return the weights of shape × scale."""
    logs = np.broadcast_to(-0.5 * ((_LOG_SCALE - log(TYPICAL_S)) / SPREAD) ** 2, (len(_SHAPES), len(_LOG_SCALE))).copy()
    shapes = _SHAPES[:, None]
    for i, absence in enumerate(reversed(ordered)):
        log_ratio = log(absence.seconds) - _LOG_SCALE[None, :]
        hazard = shapes * log_ratio
        term = -np.exp(hazard)
        if absence.sign is not Sign.NONE:
            term = (term + np.log(shapes) + hazard - log(absence.seconds)) if absence.known else _by_then(term)
        logs += FADES**i * term
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())


def _by_then(log_calm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log of 1 − S: the sign came at some time within the seconds."""
    return np.asarray(np.log(-np.expm1(np.minimum(log_calm, -1e-300))))


def _calm_through(weights: NDArray[np.float64], seconds: float) -> float:
    survival = np.exp(-np.exp(_SHAPES[:, None] * (log(seconds) - _LOG_SCALE[None, :])))
    return float((weights * survival).sum())


def _quantile(weights: NDArray[np.float64], share: float) -> float:
    """Return the longest time through which the pup is calm with at least this chance, all unknowns averaged."""
    low, high = log(1e-3), log(24 * 3600.0)
    for _ in range(32):  # to a relative 4e-9
        middle = (low + high) / 2.0
        low, high = (middle, high) if _calm_through(weights, exp(middle)) > share else (low, middle)
    return exp((low + high) / 2.0)


def _spread_of_sure(weights: NDArray[np.float64]) -> tuple[float, float]:
    """Return the 5 and 95 % points of the time that nine in ten bear, over what is not known of the pup."""
    sure = _LOG_SCALE[None, :] + np.log(-log(SURE)) / _SHAPES[:, None]
    order = np.argsort(sure, axis=None)
    below = np.cumsum(weights.ravel()[order])
    low, high = np.interp([0.05, 0.95], below, sure.ravel()[order])
    return float(np.exp(low)), float(np.exp(high))


def _in_order(absences: Sequence[Absence]) -> list[Absence]:
    problems = [
        Problem("seconds", "An absence of {given} s tells nothing; give seconds above 0.", given=absence.seconds)
        for absence in absences
        if not (np.isfinite(absence.seconds) and absence.seconds > 0.0)
    ]
    if problems:
        raise InvalidInput(problems)
    return sorted(absences, key=lambda absence: require_aware(absence.at))
