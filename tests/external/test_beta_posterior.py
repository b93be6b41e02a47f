"""The posterior of a step and its predictions against scipy.stats.

Sources: scipy.stats.beta and scipy.stats.betabinom; the reference values were printed by a separate computation
with SciPy 1.17.1, each call standing beside its value.
"""

import pytest
from scipy.stats import beta, betabinom

from pupilage.core.training.posterior.belief import Belief, belief_from_counts, chance_of_at_least

COUNTS = [(0, 0), (1, 0), (0, 4), (3, 2), (8, 2), (17, 3), (180, 20)]


def test_chance_above_point_eight_after_nine_of_ten_under_a_flat_prior():
    """beta(10, 2).sf(.8) = .6778774528"""
    flat = Belief(alpha=10.0, beta=2.0, n_met=9, n_missed=1, n_helped=0)
    assert flat.p_at_least(0.8) == pytest.approx(0.6778774528, abs=1e-10)


def test_eight_of_ten_under_jeffreys_prior():
    """beta(8.5, 2.5).sf(.8) = .46650404, .ppf([.05, .95]) = .547504, .939786"""
    belief = belief_from_counts(8, 2)
    assert belief.p_at_least(0.8) == pytest.approx(0.46650404, abs=1e-8)
    assert belief.interval(0.9) == pytest.approx((0.547504, 0.939786), abs=0.5e-6 + 1e-9)


def test_chance_of_eight_of_the_next_ten_after_eight_of_ten():
    """betabinom(10, 8.5, 2.5).sf(7) = .6039843526"""
    assert belief_from_counts(8, 2).chance_of_at_least(8, 10) == pytest.approx(0.6039843526, abs=1e-10)


@pytest.mark.parametrize(("met", "missed"), COUNTS)
def test_posterior_agrees_with_scipy(met, missed):
    belief, reference = belief_from_counts(met, missed), beta(met + 0.5, missed + 0.5)
    assert belief.mean == pytest.approx(reference.mean(), rel=1e-12)
    for threshold in (0.0, 0.2, 0.6, 0.8, 0.95, 1.0):
        assert belief.p_at_least(threshold) == pytest.approx(reference.sf(threshold), abs=1e-12)
    for level in (0.5, 0.9, 0.99):
        assert belief.interval(level) == pytest.approx(reference.interval(level), abs=1e-9)


@pytest.mark.parametrize(("met", "missed"), COUNTS)
@pytest.mark.parametrize("n", [1, 5, 10, 40])
def test_predictions_agree_with_scipy(met, missed, n):
    belief, reference = belief_from_counts(met, missed), betabinom(n, met + 0.5, missed + 0.5)
    for k in range(n + 1):
        assert belief.chance_of_at_least(k, n) == pytest.approx(reference.sf(k - 1), rel=1e-9, abs=1e-12)


def test_prediction_over_thousands_of_tries_is_still_a_number():
    assert chance_of_at_least(900, 3000, alpha=2.0, beta=3.0) == pytest.approx(
        betabinom(3000, 2.0, 3.0).sf(899), rel=1e-6
    )
