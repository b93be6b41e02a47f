"""Effect sizes of single cases on published series, and the exact p beside SciPy's."""

import math

import numpy as np
import pytest
from scipy.stats import mannwhitneyu, permutation_test

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.effect_sizes import effect_of

VANNEST_A, VANNEST_B = [4, 3, 4, 3, 4, 7, 5, 2, 3, 2], [5, 9, 7, 9, 7, 5, 9, 11, 11, 10, 9]
"""Parker & Vannest (2009), the worked example: NAP .96."""
VIGNETTE_A, VIGNETTE_B = [20, 20, 26, 25, 22, 23], [28, 25, 24, 27, 30, 30, 29]
"""The example series of the SingleCaseES vignette; Tau-U .7380952."""
FALLING_A, FALLING_B = [12, 14, 9, 10, 10], [6, 4, 5, 3, 4]


@pytest.mark.parametrize(
    ("a", "b", "nap", "tau", "tau_u", "pnd"),
    [
        (VANNEST_A, VANNEST_B, 0.9636, 0.9273, 1.0182, 0.6364),
        (VIGNETTE_A, VIGNETTE_B, 0.9167, 0.8333, 0.7380952, 0.7143),
        ([2, 3, 5, 3], [4, 5, 5, 7, 6], 0.9000, 0.8000, 0.6500, 0.4000),
    ],
)
def test_published_series_have_their_effects(a, b, nap, tau, tau_u, pnd):
    found = effect_of(a, b, more_is_better=True)
    assert (found.nap, found.tau, found.tau_u, found.pnd) == pytest.approx((nap, tau, tau_u, pnd), abs=5e-5)


def test_fewer_can_be_better():
    found = effect_of(FALLING_A, FALLING_B, more_is_better=False)
    assert (found.nap, found.tau, found.pnd) == (1.0, 1.0, 1.0)


def test_nap_is_mann_and_whitneys_share():
    found = effect_of(VIGNETTE_A, VIGNETTE_B, more_is_better=True)
    assert found.nap == pytest.approx(mannwhitneyu(VIGNETTE_B, VIGNETTE_A).statistic / 42)


def test_p_counts_every_deal_of_the_days():
    # R58: 8 of 1,716 splits.
    assert effect_of(VIGNETTE_A, VIGNETTE_B, more_is_better=True).p == pytest.approx(8 / 1716)


def test_p_is_scipys_on_ties_too():
    rng = np.random.default_rng(2)
    for _ in range(5):
        a, b = rng.integers(0, 4, 5), rng.integers(0, 4, 6)

        def pairs_better(y, x):
            return float(np.sign(np.asarray(y)[None, :] - np.asarray(x)[:, None]).sum())

        theirs = permutation_test((b, a), pairs_better, alternative="greater", n_resamples=math.inf)
        assert effect_of(a, b, more_is_better=True).p == pytest.approx(theirs.pvalue)


def test_long_phases_are_counted_exactly_too():
    found = effect_of(range(30), range(30, 60), more_is_better=True)
    assert found.p == pytest.approx(1 / math.comb(60, 30))


@pytest.mark.parametrize(("a", "b"), [([1, 2], [3, 4, 5]), ([1, 2, 3], []), ([1, 2, math.nan], [3, 4, 5])])
def test_too_little_is_said_and_not_guessed(a, b):
    with pytest.raises(InvalidInput):
        effect_of(a, b, more_is_better=True)
