"""The day a rate changed, on a published record, and beside an exhaustive search.

Yearly numbers of disasters in British coal mines, 1851-1962: Jarrett (1979), Biometrika 66, 191-193, table 1.
"""

import math

import numpy as np
import pytest
import ruptures
from ruptures.base import BaseCost

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.changes import weigh_change

DISASTERS = [
    *(4, 5, 4, 1, 0, 4, 3, 4, 0, 6, 3, 3, 4, 0, 2, 6, 3, 3, 5, 4, 5, 3, 1, 4, 4, 1, 5, 5, 3, 4, 2, 5, 2, 2, 3, 4, 2),
    *(1, 3, 2, 2, 1, 1, 1, 1, 3, 0, 0, 1, 0, 1, 1, 0, 0, 3, 1, 0, 3, 2, 2, 0, 1, 1, 1, 0, 1, 0, 1, 0, 0, 0, 2, 1, 0),
    *(0, 0, 1, 1, 0, 2, 3, 3, 1, 1, 2, 1, 1, 1, 1, 2, 4, 2, 0, 0, 0, 1, 4, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0),
    1,
]
YEARS = [1.0] * len(DISASTERS)


def test_year_of_the_change_is_the_published_one():
    # R46: gamma(½, almost 0): mode 1891 (.23844), mean 1889.88, nine tenths 1886-1894, rates 3.135019 and .930383.
    found = weigh_change(DISASTERS, YEARS, prior=(0.5, 1e-9))
    assert 1851 + found.mode == 1891
    assert found.p_last_old[found.mode] == pytest.approx(0.23844, abs=5e-6)
    assert 1851 + found.p_last_old @ np.arange(len(DISASTERS) - 1) == pytest.approx(1889.88, abs=5e-3)
    assert (1851 + found.low, 1851 + found.high) == (1886, 1894)
    assert (found.rate_before, found.rate_after) == pytest.approx((3.135019, 0.930383), abs=5e-7)


def test_evidence_for_a_change_is_that_of_the_reference():
    # R47: gamma(1, 1): 1891 (.24502), rates 3.064235 and .922367, log Bayes factor 28.942249.
    found = weigh_change(DISASTERS, YEARS)
    assert 1851 + found.mode == 1891
    assert found.p_last_old[found.mode] == pytest.approx(0.24502, abs=5e-6)
    assert (found.rate_before, found.rate_after) == pytest.approx((3.064235, 0.922367), abs=1e-6)
    assert found.log_bayes_factor == pytest.approx(28.942249, abs=1e-6)
    assert found.p_change > 0.999999


def test_best_split_is_that_of_greatest_likelihood():
    # The cut that a search over all cuts finds by Poisson likelihood.
    n = np.asarray(DISASTERS, dtype=float)

    def log_likelihood(part):
        return part.sum() * math.log(part.mean()) if part.sum() else 0.0

    scores = [log_likelihood(n[: i + 1]) + log_likelihood(n[i + 1 :]) for i in range(len(n) - 1)]
    assert weigh_change(DISASTERS, YEARS).mode == int(np.argmax(scores))


class PoissonCost(BaseCost):
    """Minus the greatest log likelihood of counts (column 0) with exposures (column 1), for ruptures' search."""

    model = ""
    min_size = 1

    def fit(self, signal):
        self.signal = signal
        return self

    def error(self, start, end):
        n, t = self.signal[start:end].sum(axis=0)
        return -n * math.log(n / t) if n else 0.0


def cuts(counts, exposures, n_cuts):
    """Return the last day of each stretch but the newest, as ruptures' dynamic programme finds them."""
    search = ruptures.Dynp(custom_cost=PoissonCost(), min_size=1, jump=1)
    return [end - 1 for end in search.fit(np.column_stack([counts, exposures])).predict(n_bkps=n_cuts)[:-1]]


def test_year_of_the_change_is_that_of_ruptures():
    # R47: ruptures (Truong, Oudre & Vayatis, 2020, Signal Processing 167) with a Poisson cost: 1891; two: 1891, 1947.
    assert cuts(DISASTERS, YEARS, 1) == [weigh_change(DISASTERS, YEARS).mode] == [1891 - 1851]
    assert cuts(DISASTERS, YEARS, 2) == [1891 - 1851, 1947 - 1851]


def test_cut_of_ruptures_lies_within_the_limits_where_days_have_unlike_hours():
    # 60 records, the rate falls tenfold. The likeliest day beforehand unknown and the best fit differ in few of them:
    # the one averages over rates, the other takes the best; the limits hold nine tenths of the chance.
    rng, same = np.random.default_rng(5), 0
    for _ in range(60):
        n_days = int(rng.integers(12, 30))
        hours, at = rng.uniform(3.0, 12.0, n_days), int(rng.integers(4, n_days - 4))
        counts = rng.poisson(np.where(np.arange(n_days) < at, 0.5, 0.05) * hours)
        found, [cut] = weigh_change(counts, hours), cuts(counts, hours, 1)
        assert found.low <= cut <= found.high
        same += found.mode == cut
    assert same >= 57


def test_a_day_without_exposure_tells_nothing():
    with_gap = weigh_change([3, 2, 4, 0, 0, 1, 0, 1], [1, 1, 1, 0, 1, 1, 1, 1])
    without = weigh_change([3, 2, 4, 0, 1, 0, 1], [1, 1, 1, 1, 1, 1, 1])
    assert with_gap.p_last_old[2] == pytest.approx(with_gap.p_last_old[3])
    assert (with_gap.mode, without.mode) == (2, 2)


def test_no_change_is_seldom_called_one():
    # 400 records of 28 days at one rate: evidence of 3 to 1 or more for a change in few of them.
    rng = np.random.default_rng(11)
    called = [weigh_change(rng.poisson(1.0, 28), [1.0] * 28).log_bayes_factor > math.log(3.0) for _ in range(400)]
    assert np.mean(called) < 0.05


@pytest.mark.parametrize(
    ("counts", "exposures"),
    [
        ([1, 2, 3], [1, 1, 1]),
        ([1, 2, 3, 4], [1, 1, 1]),
        ([1, -2, 3, 4], [1, 1, 1, 1]),
        ([0, 0, 0, 0], [0, 0, 0, 0]),
        ([1, 2, 3, 4], [1, 0, 1, 1]),
        ([1, 2, 3, 4], [1, math.nan, 1, 1]),
    ],
)
def test_records_that_cannot_be_are_refused(counts, exposures):
    with pytest.raises(InvalidInput):
        weigh_change(counts, exposures)
