"""Lists of pay against the published progression, and the interval against its exponential.

Sources: Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530 (t_n; the paper's example of 12 terms is checked in
test_holds.py); scipy.stats.expon for the mean of each of N slices of equal probability, which is what t_n is.
"""

import math
from itertools import islice

import pytest
from scipy.stats import expon

from pupilage.core.training.rewards.schedules import TERMS, interval_gaps_s, interval_mean_s, ratio_terms


@pytest.mark.parametrize(
    ("ratio", "terms"),
    [
        (1.0, (1, 1, 1, 1, 1, 1)),
        (1.5, (1, 1, 1, 1, 2, 3)),
        (2.0, (1, 1, 1, 2, 3, 4)),
        (3.0, (1, 1, 2, 3, 4, 7)),
        (4.0, (1, 1, 2, 4, 6, 10)),
        (6.0, (1, 2, 3, 5, 8, 17)),
    ],
)
def test_whole_responses_follow_the_progression_with_the_mean_kept(ratio, terms):
    """Worked by hand from t_n / mean = .088, .290, .542, .882, 1.405, 2.792 (N = 6), for 3: .27, .87, 1.63, 2.65, 4.22,
    8.38, in whole ones from 1 up 1, 1, 2, 3, 4, 8; they add up to 19, so the longest gives one back."""
    assert ratio_terms(ratio) == terms


def test_intervals_are_the_means_of_equal_slices_of_an_exponential():
    mean_s = interval_mean_s(30.0, 3.0)
    reference = expon(scale=mean_s)
    slices = [
        TERMS * reference.expect(lambda t: t, lb=reference.ppf(i / TERMS), ub=reference.ppf((i + 1) / TERMS))
        for i in range(TERMS)
    ]
    found = sorted(islice(interval_gaps_s(30.0, 3.0, "s"), TERMS))
    assert found == pytest.approx(slices, rel=1e-6)


@pytest.mark.parametrize("ratio", [1.5, 2.0, 3.0, 4.0, 6.0])
def test_one_hold_in_the_ratio_is_paid_by_an_exponential_interval(ratio):
    mean_s = interval_mean_s(20.0, ratio)
    assert expon(scale=mean_s).cdf(20.0) == pytest.approx(1.0 / ratio, rel=1e-12)
    assert mean_s == pytest.approx(-20.0 / math.log(1.0 - 1.0 / ratio), rel=1e-12)
