"""Rates, their limits and their ratios, beside printed tables, SciPy and statsmodels."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.rates import test_poisson_2indep as compare_rates

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.rates import Tally, believed_ratio, p_fewer, p_no_difference, rate_of, ratio_of

# Garwood (1936), Biometrika 28, 437-442: two-sided 95 % limits; computed from the formula, k = 0, 10 and 25 printed.
GARWOOD = {
    0: (0.0000, 3.6889),
    1: (0.0253, 5.5716),
    2: (0.2422, 7.2247),
    3: (0.6187, 8.7673),
    4: (1.0899, 10.2416),
    5: (1.6235, 11.6683),
    6: (2.2019, 13.0595),
    7: (2.8144, 14.4227),
    8: (3.4538, 15.7632),
    9: (4.1154, 17.0848),
    10: (4.7954, 18.3904),
    11: (5.4912, 19.6820),
    12: (6.2006, 20.9616),
    15: (8.3954, 24.7402),
    20: (12.2165, 30.8884),
    25: (16.1787, 36.9049),
}

AFTER, BEFORE = Tally(6, 12.0), Tally(14, 10.0)
"""R43 and R44: 14 incidents in 10 days, 6 in the 12 days after."""


@pytest.mark.parametrize(("n", "limits"), GARWOOD.items())
def test_limits_of_a_count_are_garwoods(n, limits):
    found = rate_of(Tally(n, 1.0))
    assert (found.low, found.high) == pytest.approx(limits, abs=5e-5)


def test_rates_are_divided_by_the_exposure():
    # Worked from the table: 3 accidents in 7 days; none in 14 and in 28.
    three = rate_of(Tally(3, 7.0))
    assert (three.value, three.low, three.high) == pytest.approx((0.429, 0.088, 1.252), abs=5e-4)
    assert rate_of(Tally(0, 14.0)).high == pytest.approx(0.263, abs=5e-4)
    assert rate_of(Tally(0, 28.0)).high == pytest.approx(0.132, abs=5e-4)


def test_exact_p_is_that_of_statsmodels():
    theirs = compare_rates(6, 12.0, 14, 10.0, method="exact-cond").pvalue
    assert p_no_difference(AFTER, BEFORE) == pytest.approx(theirs, rel=1e-9)
    assert p_no_difference(AFTER, BEFORE) == pytest.approx(0.040718, abs=5e-7)  # R44


def test_belief_in_fewer_and_the_believed_ratio_are_those_of_the_reference():
    assert p_fewer(AFTER, BEFORE) == pytest.approx(0.98658604, abs=5e-9)  # R43
    found = believed_ratio(AFTER, BEFORE)
    assert (found.value, found.low, found.high) == pytest.approx((0.362914, 0.131303, 0.892810), abs=5e-7)


def test_limits_of_a_ratio_turn_the_exact_test_at_its_level():
    found = ratio_of(AFTER, BEFORE)
    assert found.value == pytest.approx((6 / 12) / (14 / 10))
    for limit, tail in ((found.low, "greater"), (found.high, "less")):
        # At the limit the one-sided exact p is 2.5 %: SciPy's binomial test with the share that this ratio gives.
        from scipy.stats import binomtest

        share = limit * 12.0 / (limit * 12.0 + 10.0)
        assert binomtest(6, 20, share, alternative=tail).pvalue == pytest.approx(0.025, rel=1e-9)


def test_a_stretch_without_events_has_finite_believed_limits():
    found = believed_ratio(Tally(0, 5.0), Tally(4, 5.0))
    assert 0.0 < found.low < found.value < found.high < math.inf
    assert ratio_of(Tally(3, 5.0), Tally(0, 5.0)).high == math.inf
    assert math.isnan(ratio_of(Tally(0, 5.0), Tally(0, 5.0)).value)
    assert p_no_difference(Tally(0, 5.0), Tally(0, 9.0)) == 1.0


@given(st.integers(0, 40), st.integers(0, 40), st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_swapping_the_stretches_swaps_the_belief(n, m, t, u):
    one, other = Tally(n, t), Tally(m, u)
    assert p_fewer(one, other) + p_fewer(other, one) == pytest.approx(1.0)
    assert believed_ratio(one, other).value == pytest.approx(1.0 / believed_ratio(other, one).value)


@pytest.mark.parametrize(("n", "exposure"), [(-1, 1.0), (1, 0.0), (1, math.nan), (1, math.inf), (1, -2.0)])
def test_figures_that_cannot_be_are_refused(n, exposure):
    with pytest.raises(InvalidInput):
        Tally(n, exposure)


def test_ninety_five_of_a_hundred_limits_hold():
    # 4,000 draws: the share that holds is at least .95 less four standard errors (exact limits are wide, not narrow).
    rng = np.random.default_rng(5)
    held = [
        (found := rate_of(Tally(int(n), 1.0))).low <= rate <= found.high
        for rate in (0.5, 3.0)
        for n in rng.poisson(rate, 2000)
    ]
    assert np.mean(held) > 0.95 - 4 * math.sqrt(0.95 * 0.05 / len(held))
