"""From cue to behaviour: how long a dog usually takes to begin at a step, and whether it has become slower.

Seconds are taken on the log scale, where a start that is twice as slow weighs as much as one twice as quick. A try
that was missed because the time allowed had passed says that the dog takes longer than that, and no more.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from pupilage.core.catalogue.behaviour import Step
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.starts import PRIOR_MEAN, PRIOR_SCALE, PRIOR_SHAPE, PRIOR_TRIALS
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

LEAST = 5
"""Fewer latencies than this are shown as not enough yet."""

NEWEST = 5
LEAST_EARLIER = 5

GRID = (81, 41)
"""Points of the mean and of the log spread on the grid that censored times need."""


@dataclass(frozen=True)
class Times:
    """The latencies of a step: those taken, the allowed times of tries that ran out of it, and how many were left out.

    latencies_s in time order; censored_s, more than 0; n_left_out, met tries whose latency is no time above 0.
    """

    latencies_s: tuple[float, ...] = ()
    censored_s: tuple[float, ...] = ()
    n_left_out: int = 0


def times_of(step: Step, trials: Iterable[Trial]) -> Times:
    """Return the times that these trials, in time order, tell of a step.

    A met training trial gives its latency. A missed one is censored at what the step allows, where the latency of
    another try of that session was taken: without that, nobody was watching the clock. Helped and void trials, holds
    that were missed, and latencies that are no time above 0 say nothing; the last are counted.
    """
    here = [t for t in trials if t.step == step.key and t.kind is SessionKind.TRAINING]
    met = [t for t in here if t.outcome is Outcome.MET and t.latency_s is not None]
    sound = [t for t in met if t.latency_s is not None and 0.0 < t.latency_s < math.inf]
    watched = {t.session_id for t in sound}
    allowed_s = step.criterion.latency_s
    ran_out = [
        allowed_s
        for t in here
        if allowed_s and t.outcome is Outcome.MISSED and t.latency_s is None and not t.hold and t.session_id in watched
    ]
    return Times(tuple(t.latency_s for t in sound if t.latency_s), tuple(ran_out), len(met) - len(sound))


class LogBelief(Protocol):
    """A belief in the mean log time and in the next log time."""

    def mean_quantile(self, q: float) -> float: ...

    def next_quantile(self, q: float) -> float: ...


@dataclass(frozen=True)
class ConjugateBelief:
    """Normal-inverse-gamma belief in log times: mean | s² ~ N(mean, s² / trials), s² ~ inverse gamma(shape, scale)."""

    mean: float = PRIOR_MEAN
    trials: float = PRIOR_TRIALS
    shape: float = PRIOR_SHAPE
    scale: float = PRIOR_SCALE

    def after(self, log_times: Sequence[float] | Floats) -> "ConjugateBelief":
        """Return the belief after these log times."""
        x = np.asarray(log_times, dtype=float)
        n = x.size
        if not n:
            return self
        trials = self.trials + n
        mean = (self.trials * self.mean + float(x.sum())) / trials
        within = float(((x - x.mean()) ** 2).sum())
        between = self.trials * n * (float(x.mean()) - self.mean) ** 2 / trials
        return ConjugateBelief(mean, trials, self.shape + n / 2.0, self.scale + 0.5 * (within + between))

    def mean_quantile(self, q: float) -> float:
        """Return the mean log time below which a share q of the belief lies."""
        return self._quantile(q, 1.0 / self.trials)

    def next_quantile(self, q: float) -> float:
        """Return the log time below which the next one lies with chance q."""
        return self._quantile(q, 1.0 + 1.0 / self.trials)

    def chance_that_mean_is_below(self, x: float, n: int) -> float:
        """Return the predictive chance that the mean of n more log times is x or less."""
        from scipy.special import stdtr

        spread = math.sqrt(self.scale / self.shape * (1.0 / n + 1.0 / self.trials))
        return float(stdtr(2.0 * self.shape, (x - self.mean) / spread))

    def _quantile(self, q: float, factor: float) -> float:
        from scipy.special import stdtrit

        return self.mean + math.sqrt(self.scale / self.shape * factor) * float(stdtrit(2.0 * self.shape, q))


@dataclass(frozen=True)
class GridBelief:
    """The same belief with censored times in it, by weights on a grid over mean and spread."""

    means: Floats
    spreads: Floats
    weight: Floats = field(repr=False)

    def mean_quantile(self, q: float) -> float:
        """Return the mean log time below which a share q of the belief lies."""
        reached = np.cumsum(self.weight.sum(1))
        return float(np.interp(q, reached - 0.5 * self.weight.sum(1), self.means))

    def next_quantile(self, q: float) -> float:
        """Return the log time below which the next one lies with chance q, by bisection."""
        from scipy.special import ndtr

        reach = 12.0 * self.spreads[-1]
        low, high = self.means[0] - reach, self.means[-1] + reach
        for _ in range(26):
            middle = 0.5 * (low + high)
            below = float((self.weight * ndtr((middle - self.means[:, None]) / self.spreads)).sum())
            low, high = (middle, high) if below < q else (low, middle)
        return float(0.5 * (low + high))


def believe_log_times(latencies_s: Sequence[float], censored_s: Sequence[float] = ()) -> LogBelief:
    """Return the belief in log times: in closed form, or on a grid where some were censored.

    Model: log t ~ N(m, s²) with the weak prior above; a censored time c adds Phi((m - log c) / s).
    Parameters: seconds above 0; censored_s, times that passed without a start.
    Raises: InvalidInput for anything that is no time above 0, all of them at once.
    Source: Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 3.3 (from memory); checked against
    scipy.stats and by quadrature in tests/external/test_latencies.py.
    """
    require_times(latencies_s, censored_s)
    closed = ConjugateBelief().after(np.log(np.asarray(latencies_s, dtype=float)))
    return _with_censored(closed, np.log(np.asarray(censored_s, dtype=float))) if censored_s else closed


def require_times(latencies_s: Iterable[float], censored_s: Iterable[float] = ()) -> None:
    """Refuse what is no time above 0. Raises InvalidInput with every fault at once."""
    problems = [
        Problem(where, "{given} s is no time from cue to behaviour; give seconds above 0, or leave it out.", given=t)
        for where, given in (("latencies_s", latencies_s), ("censored_s", censored_s))
        for t in given
        if not 0.0 < t < math.inf  # NaN fails too
    ]
    if problems:
        raise InvalidInput(problems)


def _with_censored(closed: ConjugateBelief, log_c: Floats) -> GridBelief:
    """Return the belief after censored log times; the grid closes in on the posterior in three goes."""
    typical = math.sqrt(closed.scale / closed.shape)
    means = (closed.mean - 8.0 * typical, max(closed.mean, float(log_c.max())) + 12.0 * typical)
    logs = (math.log(typical) - 2.5, math.log(typical) + 3.0)
    for _ in range(3):
        m, log_s = np.linspace(*means, GRID[0]), np.linspace(*logs, GRID[1])
        weight = _weigh(closed, log_c, m, log_s)
        means, logs = _span(m, weight.sum(1)), _span(log_s, weight.sum(0))
    return GridBelief(m, np.exp(log_s), weight)


def _weigh(closed: ConjugateBelief, log_c: Floats, m: Floats, log_s: Floats) -> Floats:
    """Return the posterior's weights over (mean, log spread); the Jacobian of the log spread is in the exponent."""
    from scipy.special import log_ndtr

    s = np.exp(log_s)
    squares = closed.scale + 0.5 * closed.trials * (m[:, None] - closed.mean) ** 2
    log_weight = -(2.0 * closed.shape + 1.0) * log_s - squares / s**2
    points, counts = np.unique(log_c, return_counts=True)
    for c, n in zip(points, counts, strict=True):
        log_weight = log_weight + n * log_ndtr((m[:, None] - c) / s)
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _span(points: Floats, weight: Floats) -> tuple[float, float]:
    """Return the range that holds the weight: six standard deviations and a grid step to either side."""
    mean = float(weight @ points)
    sd = math.sqrt(float(weight @ (points - mean) ** 2)) + float(points[1] - points[0])
    return mean - 6.0 * sd, mean + 6.0 * sd


@dataclass(frozen=True)
class Latency:
    """How long a dog usually takes from cue to behaviour at a step, in seconds.

    typical_s, the middle (half of the starts are quicker), with its 90 % interval low_s to high_s; next_low_s to
    next_high_s holds the next one with chance 0.9. n taken, n_censored ran out of time, n_left_out were no times.
    """

    typical_s: float
    low_s: float
    high_s: float
    next_low_s: float
    next_high_s: float
    n: int
    n_censored: int
    n_left_out: int

    @property
    def enough(self) -> bool:
        """Whether there are enough latencies to show more than our prior."""
        return self.n >= LEAST


def expect_latency(times: Times) -> Latency:
    """Return the latency to expect at a step, from `times_of` it.

    Model: see `believe_log_times`; figures are exp of quantiles of the mean log time and of the next log time.
    Raises: InvalidInput as `believe_log_times`.
    Assumes: starts alike and independent; that a try missed on time was missed for its slow start.
    """
    belief = believe_log_times(times.latencies_s, times.censored_s)
    typical_s, low_s, high_s = (math.exp(belief.mean_quantile(q)) for q in (0.5, 0.05, 0.95))
    next_low_s, next_high_s = (math.exp(belief.next_quantile(q)) for q in (0.05, 0.95))
    return Latency(
        typical_s, low_s, high_s, next_low_s, next_high_s,
        len(times.latencies_s), len(times.censored_s), times.n_left_out,
    )  # fmt: skip


def find_typical_s(times: Times) -> float | None:
    """Return the typical latency of `expect_latency` alone, which is quicker; None while there are not enough."""
    if len(times.latencies_s) < LEAST:
        return None
    return math.exp(believe_log_times(times.latencies_s, times.censored_s).mean_quantile(0.5))


def chance_slower(latencies_s: Sequence[float], *, newest: int = NEWEST) -> float | None:
    """Return the predictive chance that the newest latencies are slower than the earlier ones let expect.

    Model: P(mean log of `newest` more <= the mean log of those seen), Student's t with 2 shape degrees of freedom,
    from the conjugate belief after the earlier ones. A steady dog gives a share uniform between 0 and 1; near 1 it
    has become slower. None with fewer than 5 earlier ones.
    Parameters: seconds above 0 in time order; newest, 1 or more.
    Raises: InvalidInput for what is no time, or newest below 1. Checked against scipy.stats in
    tests/external/test_latencies.py.
    """
    if newest < 1:
        raise InvalidInput.of("newest", "{given} newest latencies cannot be; give 1 or more.", given=newest)
    require_times(latencies_s)
    if len(latencies_s) < newest + LEAST_EARLIER:
        return None
    logs = np.log(np.asarray(latencies_s, dtype=float))
    belief = ConjugateBelief().after(logs[:-newest])
    return belief.chance_that_mean_is_below(float(logs[-newest:].mean()), newest)
