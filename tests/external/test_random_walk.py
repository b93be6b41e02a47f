"""The wandering skill against an exact filter: one animal of a published experiment, coarse grid against fine.

Model and purpose: Smith et al., 2004, J. Neurosci. 24:447-461. Record: animal 9 of Solomon and Wynne's avoidance data
(Bush and Mosteller, 1955), 1 = avoided, used for the arithmetic of learning curves only; nobody should repeat it.
"""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.randomwalk import Walk, fit_walk, walk_through

ANIMAL_9 = np.array([[float(c) for c in "0000010101101000111110110"]])
WALK = Walk(mean=-2.0, sd=1.0, step_sd=0.5)
TRIALS = [0, 9, 17, 24]


def curve(**more):
    return walk_through(ANIMAL_9, WALK, steps_before_first=1, **more)


def test_filter_gives_the_exact_values():
    # Exact quadrature on 2,601 points over [-10, 8], by a separate program; printed to 6 and 5 digits.
    found = curve()
    assert found.log_likelihood[0] == pytest.approx(-17.960995, abs=1e-6)
    assert found.filtered[0, TRIALS] == pytest.approx([0.13938, 0.42004, 0.54139, 0.59702], abs=6e-6)


def test_smoother_gives_the_exact_values_and_those_of_a_sampler():
    exact, sampled = [0.17154, 0.47707, 0.64296, 0.59702], [0.17182, 0.47615, 0.64142, 0.59714]
    found = curve().smoothed[0, TRIALS]
    assert found == pytest.approx(exact, abs=6e-6)
    # NumPyro 0.22.0, NUTS, 20,000 draws: Monte-Carlo error about 0.001.
    assert found == pytest.approx(sampled, abs=0.002)


def test_coarse_grid_is_good_to_a_millionth():
    fine = curve(grid=np.linspace(-10.0, 8.0, 2601))
    assert curve().predicted == pytest.approx(fine.predicted, abs=1e-6)


def test_fit_finds_what_made_the_records():
    rng = np.random.default_rng(3)
    x = -2.0 + 0.5 * rng.standard_normal(120)
    met = np.empty((120, 25))
    for t in range(25):
        met[:, t] = rng.random(120) < 1.0 / (1.0 + np.exp(-x))
        x = x + 0.2 + 0.2 * rng.standard_normal(120)
    grid = np.linspace(-8.0, 10.0, 91)
    fitted = fit_walk(met, Walk(-1.0, 1.0, 0.4), grid=grid)
    # 3,000 trials from one seed; the limits are wide on purpose, for the five parameters trade places.
    assert 0.5 * (fitted.drift_met + fitted.drift_missed) == pytest.approx(0.2, abs=0.1)
    assert fitted.mean == pytest.approx(-2.0, abs=0.5)


@pytest.mark.parametrize("met", [np.array([[0.0, 2.0]]), np.array([0.0, 1.0]), np.array([[np.nan]])])
def test_outcomes_that_are_no_outcomes_are_refused(met):
    with pytest.raises(InvalidInput, match="0 and 1"):
        walk_through(met, WALK)


def test_spread_that_is_none_is_refused():
    with pytest.raises(InvalidInput, match="spreads above 0"):
        walk_through(ANIMAL_9, Walk(0.0, 1.0, 0.0))
