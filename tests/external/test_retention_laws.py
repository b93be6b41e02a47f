"""Forgetting and the levels, against closed forms and SciPy's adaptive quadrature."""

import numpy as np
import pytest
from scipy import integrate, stats

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Forgetting
from pupilage.core.training.posterior.retention import cold_and_warm


@pytest.mark.parametrize(("days", "half_life"), [(1.0, 5.0), (3.0, 5.0), (7.0, 2.8), (30.0, 16.0)])
def test_both_laws_are_the_published_curves(days, half_life):
    # Source: Wixted & Ebbesen, 1991, Psychological Science 2:409-415 (exponential and power forms; from memory);
    # here with one half left after the half-life, the power law (1 + t / h)^-1.
    exponential = np.exp(-np.log(2.0) * days / half_life)
    power = (1.0 + days / half_life) ** -1.0
    assert learners.retained(days, half_life, Forgetting.EXPONENTIAL) == pytest.approx(exponential, rel=1e-12)
    assert learners.retained(days, half_life, Forgetting.POWER) == pytest.approx(power, rel=1e-12)


def test_chance_at_a_level_is_one_minus_slip_or_the_guess():
    # Source: Corbett & Anderson, 1995, User Modeling and User-Adapted Interaction 4:253-278 (form); slip 0.08 and the
    # guess 0.40 falling by 0.40 a level are our simulator's, measured on no dog.
    assert learners.p_met_by_levels(4, 1) == pytest.approx([0.02, 0.40, 0.92, 0.92, 0.92], rel=1e-9)


@pytest.mark.parametrize(("cold", "warm"), [((3, 9), (21, 30)), ((0, 1), (1, 1)), ((8, 10), (16, 20))])
def test_cold_against_warm_is_the_double_integral(cold, warm):
    density = stats.beta(0.5 + cold[0], 0.5 + cold[1] - cold[0])
    above = stats.beta(0.5 + warm[0], 0.5 + warm[1] - warm[0])
    # Over the quantiles of the cold chance, where the integrand has no poles.
    expected, _ = integrate.quad(lambda q: above.sf(density.ppf(q)), 0.0, 1.0, epsabs=1e-9)
    assert cold_and_warm(*cold, *warm) == pytest.approx(expected, abs=1e-4)
