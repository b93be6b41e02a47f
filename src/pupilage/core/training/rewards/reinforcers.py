"""Which reinforcer works for this dog, at easy and at difficult steps, from its own record.

A reinforcer's tries are compared with what the engine expected of them, so that the one kept for hard steps is not
blamed for their difficulty. Nothing else is taken out: not the place, the hour, the hunger, nor the trainer's choice.
"""

import math
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

EASY = 0.75
"""A try expected to be met three times in four or more is easy, one below it difficult."""

SD_COMMON = 0.8
SD_BEHAVIOUR = 0.5
SD_REINFORCER = 0.5
SD_BAND = 0.3
SD_SESSION = 0.4
"""Priors, in logits: the engine's error for this dog and for each behaviour, a reinforcer's shift, what it differs at
easy and difficult steps, and what one session differs from another. Fixed by hand, not fitted: one pup has too few
reinforcers for that. 0.5 takes an even chance to 62 in 100."""

OTHERWISE = {"easy": 0.85, "difficult": 0.60}
"""The chances for which a reinforcer's shift is told to people: of a step that this dog otherwise meets so often."""

LEAST_TRIALS = 20
LEAST_SESSIONS = 3
"""Less than this at a band is shown as not enough yet: one good day is not a good reinforcer."""

LEAST_SHARED = 10
"""Tries of both at the same behaviours, before one is called better than the other: else it may be the behaviour."""

P_LIMIT = 0.02


class Band(StrEnum):
    """How hard a try was for the dog then. Stored values are fixed for good."""

    EASY = "easy"
    DIFFICULT = "difficult"


@dataclass(frozen=True)
class Tries:
    """The tries of one behaviour, session, reinforcer and expected chance p, in (0, 1): n of them, n_met met."""

    reinforcer: str
    behaviour: str
    session_id: str
    p: float
    n_met: int
    n: int

    @property
    def band(self) -> Band:
        return Band.EASY if self.p >= EASY else Band.DIFFICULT


@dataclass(frozen=True)
class Shift:
    """What a reinforcer shifts the chance by, in logits, in one band or in both (band None), with its 90 % interval.

    Against this dog's tries with no reinforcer in particular: 0 is neither better nor worse.

    expected and seen: the shares met that the engine expected and that came; p_better: the chance that it is better
    than the usual one, None for the usual one itself, and where the two were hardly used for the same behaviours;
    total and total_sd: the shift with the engine's error for this dog added, against the expected chance itself.
    """

    reinforcer: str
    band: Band | None
    logits: float
    low: float
    high: float
    n: int
    n_sessions: int
    expected: float | None
    seen: float | None
    p_better: float | None
    total: float
    total_sd: float

    @property
    def enough(self) -> bool:
        """Whether there are tries and sessions enough to show it."""
        return self.n >= LEAST_TRIALS and self.n_sessions >= LEAST_SESSIONS

    def chance_at(self, p: float) -> tuple[float, float, float]:
        """Return the chance, with this reinforcer, of a try otherwise met with p, and its 90 % interval."""
        chance, low, high = (1.0 / (1.0 + math.exp(-_logit(p) - x)) for x in (self.logits, self.low, self.high))
        return chance, low, high

    def p_at_least(self, threshold: float, p: float) -> float:
        """Return the probability that a try expected with p has, with this reinforcer, `threshold` or more."""
        from scipy.special import ndtr

        return float(ndtr((_logit(p) + self.total - _logit(threshold)) / self.total_sd))


Z90 = 1.6448536269514722
"""Standard deviations from the middle to either end of a normal's 90 %."""


@dataclass(frozen=True)
class Comparison:
    """The reinforcers of one dog: the usual one, and the shifts of each, overall and by band."""

    usual: str | None
    shifts: tuple[Shift, ...]

    def of(self, reinforcer: str, band: Band | None = None) -> Shift | None:
        """Return a reinforcer's shift, None when it was never used."""
        return next((s for s in self.shifts if s.reinforcer == reinforcer and s.band is band), None)

    @property
    def compares(self) -> bool:
        """Whether there are two at least: of one alone nobody can tell its worth from the engine's error."""
        return len(self.names) > 1

    @property
    def names(self) -> tuple[str, ...]:
        """The reinforcers that were used, the most used first."""
        return tuple(s.reinforcer for s in self.shifts if s.band is None)


def reinforcers_of(trials: Iterable[Trial], pouches: Mapping[str, Sequence[tuple[datetime, str]]]) -> dict[str, str]:
    """Return the reinforcer in the pouch at each trial, by event id; trials of sessions without a pouch have none.

    pouches: by session id, what `fold.reinforcers_used` says.
    """
    found = {}
    for trial in trials:
        used = pouches.get(trial.session_id)
        if used:
            place = bisect_right(used, trial.at, key=lambda one: one[0])
            found[trial.event_id] = used[max(0, place - 1)][1]
    return found


def tries_of(trials: Iterable[Trial], expected: Mapping[str, float], reinforcers: Mapping[str, str]) -> list[Tries]:
    """Return the training tries whose reinforcer is known, gathered by what `Tries` names.

    Parameters: expected, what `foresight.foresee` says by event id; reinforcers, the name by event id. Void tries,
    probes, and tries with no name count for nothing; a helped one is not met.
    """
    met: Counter[tuple[str, str, str, float]] = Counter()
    n: Counter[tuple[str, str, str, float]] = Counter()
    for trial in trials:
        name, p = reinforcers.get(trial.event_id, ""), expected.get(trial.event_id)
        if not name or p is None or trial.outcome is Outcome.VOID or trial.kind is not SessionKind.TRAINING:
            continue
        key = (name, trial.behaviour, trial.session_id, p)
        n[key] += 1
        met[key] += trial.outcome is Outcome.MET
    return [Tries(*key, met[key], count) for key, count in n.items()]


def compare_reinforcers(tries: Sequence[Tries]) -> Comparison:
    """Return what each reinforcer shifts, overall and at easy and difficult steps.

    Model: logit P(met) = logit p + c + v[behaviour] + g[reinforcer] + d[reinforcer, band] + u[session], every term
    normal around 0 with the fixed sds above; the joint mode by Newton, and Laplace's normal around it. A shift is g, or
    g + d in a band; better than the usual one: above the usual one's. Without v, a reinforcer that is kept for one
    behaviour would take that behaviour's surprises on itself; with it, it stays uncertain.
    Raises: InvalidInput for counts or chances that cannot be, all at once.
    Assumes: that the expected chance holds everything else. It does not: see docs/science/reinforcement.md.
    Source: Laplace's approximation as in Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 4.1 (from
    memory); checked against scipy.optimize and statsmodels in tests/external/test_reinforcers.py.
    """
    _require(tries)
    if not tries:
        return Comparison(None, ())
    n_by_name: Counter[str] = Counter()
    for one in tries:
        n_by_name[one.reinforcer] += one.n
    names = [name for name, _ in sorted(n_by_name.items(), key=lambda item: (-item[1], item[0]))]
    design, precision = _design(tries, names)
    mode, covariance = fit_mode(
        design,
        offset=np.array([_logit(one.p) for one in tries]),
        n_met=np.array([one.n_met for one in tries], dtype=float),
        n=np.array([one.n for one in tries], dtype=float),
        precision=precision,
    )
    fit = _Fit(names, mode, covariance)
    shifts = [_shift(fit, name, band, tries) for name in names for band in (None, *Band)]
    return Comparison(names[0], tuple(shifts))


def _logit(p: float) -> float:
    p = min(1.0 - P_LIMIT, max(P_LIMIT, p))
    return math.log(p / (1.0 - p))


def _require(tries: Sequence[Tries]) -> None:
    problems = [
        Problem("tries", "{met} met of {n}, expected with {p}, cannot be tries.", met=one.n_met, n=one.n, p=one.p)
        for one in tries
        if not (0 <= one.n_met <= one.n and one.n > 0 and 0.0 < one.p < 1.0)  # NaN fails too
    ]
    if problems:
        raise InvalidInput(problems)


def _design(tries: Sequence[Tries], names: Sequence[str]) -> tuple[Floats, Floats]:
    """Return the design matrix (tries, terms) and the prior precision of each term.

    Terms: the common one, the reinforcers, each of them in each band, the behaviours, the sessions.
    """
    k = len(names)
    behaviours = {key: i for i, key in enumerate(dict.fromkeys(one.behaviour for one in tries))}
    sessions = {key: i for i, key in enumerate(dict.fromkeys(one.session_id for one in tries))}
    first_session = 1 + 3 * k + len(behaviours)
    design = np.zeros((len(tries), first_session + len(sessions)))
    for row, one in zip(design, tries, strict=True):
        r = names.index(one.reinforcer)
        row[[0, 1 + r, _band_place(k, r, one.band)]] = 1.0
        row[[1 + 3 * k + behaviours[one.behaviour], first_session + sessions[one.session_id]]] = 1.0
    sds = [SD_COMMON, *[SD_REINFORCER] * k, *[SD_BAND] * 2 * k]
    sds += [*[SD_BEHAVIOUR] * len(behaviours), *[SD_SESSION] * len(sessions)]
    return design, 1.0 / np.square(sds)


def _band_place(k: int, reinforcer: int, band: Band) -> int:
    return 1 + k + 2 * reinforcer + (band is Band.DIFFICULT)


def fit_mode(design: Floats, *, offset: Floats, n_met: Floats, n: Floats, precision: Floats) -> tuple[Floats, Floats]:
    """Return the mode of a logistic regression with normal priors around 0, and the covariance around it.

    Model: n_met ~ Bin(n, 1 / (1 + exp(-offset - design b))), b ~ N(0, 1 / precision). The log posterior is strictly
    concave; Newton's step is halved while it does not climb.
    """

    def climb(b: Floats) -> tuple[float, Floats]:
        eta = offset + design @ b
        return float(n_met @ eta - n @ np.logaddexp(0.0, eta) - 0.5 * precision @ b**2), eta

    b = np.zeros(design.shape[1])
    height, eta = climb(b)
    for _ in range(50):
        p = 1.0 / (1.0 + np.exp(-eta))
        curvature = (design.T * (n * p * (1.0 - p))) @ design + np.diag(precision)
        step = np.linalg.solve(curvature, design.T @ (n_met - n * p) - precision * b)
        scale = 1.0
        while (found := climb(b + scale * step))[0] < height and scale > 1e-6:
            scale /= 2.0
        b = b + scale * step
        height, eta = found
        if np.abs(step).max() < 1e-10:
            break
    return np.asarray(b), np.asarray(np.linalg.inv(curvature))


@dataclass(frozen=True)
class _Fit:
    names: list[str]
    mode: Floats
    covariance: Floats

    def along(self, name: str, band: Band | None, *, common: float = 0.0) -> Floats:
        """Return the combination of terms that is a reinforcer's shift; common 1 adds the engine's error."""
        k, r = len(self.names), self.names.index(name)
        weights = np.zeros_like(self.mode)
        weights[0], weights[1 + r] = common, 1.0
        if band is not None:
            weights[_band_place(k, r, band)] = 1.0
        return weights

    def mean_and_sd(self, weights: Floats) -> tuple[float, float]:
        return float(weights @ self.mode), math.sqrt(float(weights @ self.covariance @ weights))


def _shift(fit: _Fit, name: str, band: Band | None, tries: Sequence[Tries]) -> Shift:
    mean, sd = fit.mean_and_sd(fit.along(name, band))
    total, total_sd = fit.mean_and_sd(fit.along(name, band, common=1.0))
    own = [one for one in tries if one.reinforcer == name and band in (None, one.band)]
    n = sum(one.n for one in own)
    return Shift(
        reinforcer=name,
        band=band,
        logits=mean,
        low=mean - Z90 * sd,
        high=mean + Z90 * sd,
        n=n,
        n_sessions=len({one.session_id for one in own}),
        expected=sum(one.n * one.p for one in own) / n if n else None,
        seen=sum(one.n_met for one in own) / n if n else None,
        p_better=_p_better(fit, name, band) if _are_comparable(tries, fit.names[0], own) else None,
        total=total,
        total_sd=total_sd,
    )


def _are_comparable(tries: Sequence[Tries], usual: str, own: Sequence[Tries]) -> bool:
    """Say whether enough of a reinforcer's tries were at behaviours for which the usual one was used too."""
    of_usual: Counter[str] = Counter()
    for one in tries:
        of_usual[one.behaviour] += one.n if one.reinforcer == usual else 0
    return sum(one.n for one in own if of_usual[one.behaviour] >= LEAST_SHARED) >= LEAST_SHARED


def _p_better(fit: _Fit, name: str, band: Band | None) -> float | None:
    if name == fit.names[0]:
        return None
    from scipy.special import ndtr

    difference = fit.along(name, band) - fit.along(fit.names[0], band)
    mean, sd = fit.mean_and_sd(difference)
    return float(ndtr(mean / sd))
