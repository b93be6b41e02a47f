"""Clopper–Pearson and Wilson against SciPy, statsmodels and a printed table.

Sources: Clopper and Pearson, 1934, Biometrika 26; Wilson, 1927, J. Am. Stat. Assoc. 22; scipy.stats.binomtest;
statsmodels.stats.proportion.proportion_confint. The table was printed to four decimals by an earlier, separate
computation (z = 1.959964, no continuity correction); its 8 of 10 agrees with both libraries to six.
"""

import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from pupilage.core.training.posterior.intervals import clopper_pearson, wilson

PRINTED = {
    # met, n: (Clopper–Pearson 95 %), (Wilson 95 %)
    (4, 5): ((0.2836, 0.9949), (0.3755, 0.9638)),
    (5, 5): ((0.4782, 1.0), (0.5655, 1.0)),
    (8, 10): ((0.4439, 0.9748), (0.4902, 0.9433)),
    (9, 10): ((0.5550, 0.9975), (0.5958, 0.9821)),
    (10, 10): ((0.6915, 1.0), (0.7225, 1.0)),
    (12, 15): ((0.5191, 0.9567), (0.5481, 0.9295)),
    (18, 20): ((0.6830, 0.9877), (0.6990, 0.9721)),
    (27, 30): ((0.7347, 0.9789), (0.7438, 0.9654)),
}
HALF_A_DIGIT = 0.5e-4 + 1e-9
"""The table is rounded to four decimals."""

COUNTS = [(met, n) for n in (1, 2, 5, 10, 20, 57) for met in range(n + 1)]


@pytest.mark.parametrize(("counts", "printed"), PRINTED.items())
def test_both_intervals_give_the_printed_table(counts, printed):
    exact, score = printed
    assert clopper_pearson(*counts) == pytest.approx(exact, abs=HALF_A_DIGIT)
    assert wilson(*counts) == pytest.approx(score, abs=HALF_A_DIGIT)


def test_eight_of_ten_to_six_decimals():
    """scipy.stats.binomtest(8, 10).proportion_ci, methods "wilson" and "exact"."""
    assert wilson(8, 10) == pytest.approx((0.490162, 0.943318), abs=0.5e-6 + 1e-9)
    assert clopper_pearson(8, 10) == pytest.approx((0.443905, 0.974789), abs=0.5e-6 + 1e-9)


@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
@pytest.mark.parametrize(("met", "n"), COUNTS)
def test_both_agree_with_scipy_and_statsmodels(met, n, level):
    """Tolerance 1e-9: SciPy finds the exact limits by root search, statsmodels by the beta quantile."""
    test = binomtest(met, n)
    exact, score = clopper_pearson(met, n, level), wilson(met, n, level)
    assert exact == pytest.approx(tuple(test.proportion_ci(level, method="exact")), abs=1e-9)
    assert score == pytest.approx(tuple(test.proportion_ci(level, method="wilson")), abs=1e-9)
    assert exact == pytest.approx(proportion_confint(met, n, 1.0 - level, method="beta"), abs=1e-9)
    assert score == pytest.approx(proportion_confint(met, n, 1.0 - level, method="wilson"), abs=1e-9)
