"""Limits of a median and the matching of two records against SciPy.

Source of the limits: David & Nagaraja (2003), Order Statistics, 3rd ed., section 7.1 (from memory): the k-th smallest
and k-th largest hold the median with probability 1 − 2 P(Binomial(n, ½) < k).
"""

import random

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import linear_sum_assignment

from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.handling import clopper_pearson, times_of
from pupilage.core.recordings.merging import MergeRules, TappedTrial, merge_trials
from pupilage.core.recordings.trials import HeardTrial
from pupilage.core.training.record.evidence import Outcome


@pytest.mark.parametrize("n", [6, 7, 8, 9, 11, 12, 15, 20, 25, 40, 100, 333])
def test_limits_of_a_median_are_the_narrowest_that_the_binomial_law_allows(n: int) -> None:
    times = times_of([float(i) for i in range(1, n + 1)])
    k = int(times.low_s)
    assert times.high_s == n + 1 - k
    assert 2 * stats.binom.cdf(k - 1, n, 0.5) <= 0.05 < 2 * stats.binom.cdf(k, n, 0.5)


def test_limits_of_a_median_hold_it_as_often_as_they_say() -> None:
    chance, n, rounds = random.Random(12), 15, 4000
    held = sum(
        times.low_s <= np.log(2.0) <= times.high_s
        for times in (times_of([chance.expovariate(1.0) for _ in range(n)]) for _ in range(rounds))
    )
    exact = 1 - 2 * stats.binom.cdf(3, n, 0.5)
    assert held / rounds == pytest.approx(exact, abs=4 * (exact * (1 - exact) / rounds) ** 0.5)  # Monte-Carlo error


def test_limits_of_a_share_are_those_of_the_beta_law() -> None:
    low, high = clopper_pearson(2, 8)
    assert (low, high) == pytest.approx((stats.beta.ppf(0.025, 2, 7), stats.beta.ppf(0.975, 3, 6)))


@pytest.mark.parametrize("seed", range(20))
def test_matching_is_the_best_assignment_of_taps_to_trials(seed: int) -> None:
    """Most pairs first, then least distance: an assignment where a pair beyond the tolerance costs 1000."""
    chance = random.Random(seed)
    moments = sorted(chance.uniform(0, 60) for _ in range(12))
    taps = sorted(chance.uniform(0, 60) for _ in range(10))
    away = np.abs(np.subtract.outer(taps, moments))
    cost = np.where(away <= 4.0, away, 1000.0)
    rows, columns = linear_sum_assignment(cost)
    expected = [cost[i, j] for i, j in zip(rows, columns, strict=True) if cost[i, j] < 1000.0]
    merge = merge_trials(
        [TappedTrial(at_s, "sit", Outcome.MET) for at_s in taps],
        [HeardTrial((Event(at_s, at_s, EventKind.CUE, "sit", state=EventState.CONFIRMED),)) for at_s in moments],
        offset_s=0.0,
        rules=MergeRules(tolerance_s=4.0),
    )
    both = [abs(one.tapped.at_s - one.heard.start_s) for one in merge.trials if one.tapped and one.heard]
    assert merge.n_both == len(expected)
    assert sum(both) == pytest.approx(sum(expected))
