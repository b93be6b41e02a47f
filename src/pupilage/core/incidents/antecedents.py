"""What incidents have in common: each antecedent with its ratio, its limits, and a correction for looking at many.

Two kinds of record. Where time is the exposure: events and hours with the antecedent, and without it. Where
opportunities are: of those with the antecedent, how many ended in an incident, and of those without.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, logsumexp

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.rates import Interval, Tally, p_no_difference, ratio_of

FALSE_SHARE = 0.05
"""Of the antecedents that are called, the share that may be called wrongly (of all stays, where none is a cause)."""

FEWEST = 5
"""Incidents below which nothing is said of causes: with three, no split of them is rare enough."""

PRIOR_SD = 1.0
"""Spread of log ratios expected beforehand (an assumption): two in three between 0.37 and 2.7."""

_LOG_RATIOS = np.linspace(-6.0, 6.0, 1201)


@dataclass(frozen=True)
class Chances:
    """Opportunities with an antecedent and without it, and how many of each ended in an incident."""

    n_with: int
    of_with: int
    n_without: int
    of_without: int

    def __post_init__(self) -> None:
        if not (0 <= self.n_with <= self.of_with and 0 <= self.n_without <= self.of_without):
            raise InvalidInput.of("opportunities", "There are more incidents than opportunities; count them again.")


@dataclass(frozen=True)
class Times:
    """Events and exposure with an antecedent and without it."""

    present: Tally
    absent: Tally


@dataclass(frozen=True)
class Suspect:
    """An antecedent, weighed. ratio: of rates, or of odds; shrunk: the same, drawn towards 1 by what is expected.

    n: incidents with it, of n_all; evidence: natural logarithm of the Bayes factor of “more often with it” against no
    difference; p: exact, two-sided; p_adjusted: for all antecedents looked at together; is_called: more often with it,
    and p_adjusted at most 0.05.
    """

    key: str
    n: int
    n_all: int
    ratio: Interval
    shrunk: Interval
    evidence: float
    p: float
    p_adjusted: float

    @property
    def is_called(self) -> bool:
        return self.n_all >= FEWEST and self.shrunk.value > 1.0 and self.p_adjusted <= FALSE_SHARE


def weigh_antecedents(tables: Mapping[str, Times | Chances]) -> list[Suspect]:
    """Return the antecedents, the likeliest cause first.

    Model: exact tests given the sum of events (binomial, or Fisher's), adjusted by Benjamini and Hochberg over all of
    them. The order is that of the evidence: the ratio above 1 and its logarithm half-normal (sd 1) beforehand. Where
    one antecedent is the cause and all are equally likely to be it, no other order finds it more often.
    Source: Fisher (1935), The Design of Experiments, ch. 2; Benjamini & Hochberg (1995), J. Roy. Stat. Soc. B 57,
    289-300; values in tests/external/test_antecedents.py.
    """
    suspects = [_weighed(key, table) for key, table in tables.items()]
    adjusted = adjust_for_many([suspect.p for suspect in suspects])
    suspects = [replace(suspect, p_adjusted=q) for suspect, q in zip(suspects, adjusted, strict=True)]
    return sorted(suspects, key=lambda suspect: (-suspect.evidence, suspect.key))


def adjust_for_many(p: Sequence[float]) -> list[float]:
    """Return each p adjusted for having looked at all of them (Benjamini and Hochberg's step-up)."""
    order = np.argsort(p)
    n = len(order)
    raised = np.asarray(p, dtype=float)[order] * n / np.arange(1, n + 1)
    steps = np.minimum.accumulate(raised[::-1])[::-1] if n else raised
    adjusted = np.empty(n)
    adjusted[order] = np.minimum(steps, 1.0)
    return [float(q) for q in adjusted]


def odds_ratio(table: Chances, *, level: float = 0.95) -> Interval:
    """Return the ratio of odds with an antecedent to those without, exact given the margins.

    Model: Fisher's noncentral hypergeometric; the value has the greatest likelihood, each limit leaves (1 − level) ÷ 2
    beyond the count seen. Limits reach 0 or infinity where a cell is empty.
    Source: Cornfield (1956), Proc. 3rd Berkeley Symp. 4, 135-148; SciPy's values in tests/external/test_antecedents.py.
    """
    counts, logs = _conditional(table)
    at, half = table.n_with, (1.0 - level) / 2.0
    if at == counts[0] == counts[-1]:
        return Interval(np.nan, 0.0, np.inf)

    def mean(log_ratio: float) -> float:
        return float(_chances(counts, logs, log_ratio) @ counts)

    def at_least(log_ratio: float) -> float:
        return float(_chances(counts, logs, log_ratio)[counts >= at].sum())

    def at_most(log_ratio: float) -> float:
        return -float(_chances(counts, logs, log_ratio)[counts <= at].sum())

    lowest, highest = at == counts[0], at == counts[-1]
    value = 0.0 if lowest else np.inf if highest else _solve(mean, at)
    low = 0.0 if lowest else _solve(at_least, half)
    high = np.inf if highest else _solve(at_most, -half)
    return Interval(value, low, high)


def fisher_p(table: Chances) -> float:
    """Return Fisher's exact two-sided p: the chances of all tables no likelier than this one, summed."""
    counts, logs = _conditional(table)
    chances = _chances(counts, logs, 0.0)
    seen = float(chances[counts == table.n_with][0])
    return min(1.0, float(chances[chances <= seen * (1.0 + 1e-9)].sum()))


def _weighed(key: str, table: Times | Chances) -> Suspect:
    """Return the antecedent as it is alone, its p not yet adjusted."""
    if isinstance(table, Times):
        n, n_all = table.present.n, table.present.n + table.absent.n
        odds = _LOG_RATIOS + np.log(table.present.exposure / table.absent.exposure)
        log_likelihood = n * odds - n_all * np.logaddexp(0.0, odds)
        ratio, p = ratio_of(table.present, table.absent), p_no_difference(table.present, table.absent)
    else:
        n, n_all = table.n_with, table.n_with + table.n_without
        counts, logs = _conditional(table)
        weights = logs[None, :] + _LOG_RATIOS[:, None] * counts[None, :]
        log_likelihood = _LOG_RATIOS * n - np.logaddexp.reduce(weights, axis=1)
        ratio, p = odds_ratio(table), fisher_p(table)
    return Suspect(key, n, n_all, ratio, _shrunk(log_likelihood), _evidence(log_likelihood), p, p)


def _evidence(log_likelihood: NDArray[np.float64]) -> float:
    """Return the logarithm of the likelihood averaged over ratios above 1, less that of a ratio of 1."""
    above = _LOG_RATIOS > 0.0
    log_prior = -0.5 * (_LOG_RATIOS[above] / PRIOR_SD) ** 2
    log_prior = log_prior - logsumexp(log_prior)
    return float(logsumexp(log_likelihood[above] + log_prior) - np.interp(0.0, _LOG_RATIOS, log_likelihood))


def _shrunk(log_likelihood: NDArray[np.float64]) -> Interval:
    """Return median and 95 % limits of the ratio, its logarithm normal around 0 beforehand."""
    log_posterior = log_likelihood - 0.5 * (_LOG_RATIOS / PRIOR_SD) ** 2
    weights = np.exp(log_posterior - log_posterior.max())
    below = (np.cumsum(weights) - weights / 2.0) / weights.sum()
    low, middle, high = np.exp(np.interp([0.025, 0.5, 0.975], below, _LOG_RATIOS))
    return Interval(float(middle), float(low), float(high))


def _conditional(table: Chances) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the counts with the antecedent that the margins allow, and the logarithm of each one's ways."""
    n = table.n_with + table.n_without
    counts = np.arange(max(0, n - table.of_without), min(n, table.of_with) + 1, dtype=float)
    return counts, _log_ways(table.of_with, counts) + _log_ways(table.of_without, n - counts)


def _log_ways(of: int, counts: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(gammaln(of + 1) - gammaln(counts + 1) - gammaln(of - counts + 1))


def _chances(counts: NDArray[np.float64], logs: NDArray[np.float64], log_ratio: float) -> NDArray[np.float64]:
    weights = logs + log_ratio * counts
    chances = np.exp(weights - weights.max())
    return np.asarray(chances / chances.sum())


def _solve(rising: Callable[[float], float], target: float) -> float:
    """Return the ratio at which a function that rises with its logarithm meets the target."""
    low, high = -50.0, 50.0
    for _ in range(200):
        middle = (low + high) / 2.0
        low, high = (middle, high) if rising(middle) < target else (low, middle)
    return float(np.exp((low + high) / 2.0))
