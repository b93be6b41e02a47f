"""Latency as evidence: the law of a block's starts against SciPy, and the grid's weights against a sum by hand.

Sources: the predictive law of a normal mean with unknown spread is Student's t (scipy.stats.t; Gelman et al., Bayesian
Data Analysis, 3rd ed. 2013, section 3.3; from memory).
"""

import math

import numpy as np
import pytest
from scipy.special import logit
from scipy.stats import t

from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.grid import Block
from pupilage.core.training.posterior.learners import FORM_WEIGHTS
from pupilage.core.training.posterior.prior import MODELS, shipped_prior
from pupilage.core.training.posterior.starts import SLOPES, fresh_timing, weigh_starts

EASE = np.array([-2.0, -0.3, 0.0, 1.0, 2.5])
BLOCKS = ((0.4, math.log(1.2), 4), (1.1, math.log(0.9), 5), (-0.5, math.log(2.1), 1), (2.0, math.log(0.7), 3))
"""Mean ease, mean log seconds, met tries."""


def by_hand(slope):
    """Return mean, trials, shape, scale after BLOCKS, written out term by term: a block is one value of some weight."""
    worth = np.array([1.0 / (0.8 / n + 0.2) for _, _, n in BLOCKS])
    centre = np.array([mean + slope * ease for ease, mean, _ in BLOCKS])
    prior = math.log(1.5) + slope
    trials = 0.5 + worth.sum()
    mean = (0.5 * prior + worth @ centre) / trials
    scale = 0.3 + 0.5 * (0.5 * prior**2 + worth @ centre**2 - trials * mean**2)
    return mean, trials, 1.5 + len(BLOCKS) / 2, scale


def told():
    timing = fresh_timing()
    for ease, mean, n in BLOCKS:
        timing = timing.after(ease, mean, n, np.zeros(len(SLOPES)))
    return timing


@pytest.mark.parametrize("n", [1, 4])
def test_next_block_is_students_t_under_every_slope(n):
    found = told().log_likelihood(EASE, math.log(1.4), n)
    for i, slope in enumerate((0.0, 0.1, 0.2, 0.35)):
        mean, trials, shape, scale = by_hand(slope)
        spread = math.sqrt(scale / shape * (0.8 / n + 0.2 + 1.0 / trials))
        expected = t(2.0 * shape, loc=mean - slope * EASE, scale=spread).logpdf(math.log(1.4))
        constant = found[i] - expected
        assert constant == pytest.approx(constant[0], abs=1e-10)  # of the shape alone, which all slopes have alike
        assert constant[0] == pytest.approx((found[0] - expected_without_slope(n))[0], abs=1e-10)


def expected_without_slope(n):
    mean, trials, shape, scale = by_hand(0.0)
    spread = math.sqrt(scale / shape * (0.8 / n + 0.2 + 1.0 / trials))
    return t(2.0 * shape, loc=mean + 0.0 * EASE, scale=spread).logpdf(math.log(1.4))


def test_first_start_is_expected_as_the_prior_says():
    found = fresh_timing().log_likelihood(np.array([1.0]), math.log(1.5), 1)
    expected = t(3.0, loc=math.log(1.5), scale=math.sqrt(0.3 / 1.5 * 3.0)).logpdf(math.log(1.5))
    off = t(3.0, loc=math.log(1.5), scale=math.sqrt(0.3 / 1.5 * 3.0)).logpdf(math.log(3.0))
    other = fresh_timing().log_likelihood(np.array([1.0]), math.log(3.0), 1)
    assert (other - found).ravel() == pytest.approx(np.full(4, off - expected), rel=1e-10)
    assert fresh_timing().weights == pytest.approx([0.5, 0.2, 0.2, 0.1])


def in_steps(p):
    """Return chances in the middle of their step of 0.005, as the model takes them."""
    return (np.floor(200.0 * p) + 0.5) / 200.0


def test_cells_are_weighed_by_the_average_over_the_slopes_at_their_own_chance():
    block = Block(2, 1.3, -0.15, taught="mmxm", log_s=(math.log(1.1), math.log(0.8), math.log(1.6)))
    grid, timing = grids.fresh_grid(shipped_prior(), 6), told()
    factors, after = weigh_starts(grid, block, timing, np.log(shipped_prior().models))
    chances = [in_steps(p) for p in (grids.p_by_skill(grid, 1.3, -0.15), grids.p_by_mastery(grid, 2, -0.15))]
    expected = [
        (timing.weights @ np.exp(timing.log_likelihood(logit(p).ravel(), sum(block.log_s) / 3, 3))).reshape(p.shape)
        for p in chances
    ]
    constant = factors[0].ravel()[0] / expected[0].ravel()[0]
    for found, one in zip(factors, expected, strict=True):
        assert found == pytest.approx(constant * one, rel=1e-9)
    assert after.weights.sum() == pytest.approx(1.0)


def test_evidence_for_a_slope_is_its_share_of_the_block_s_likelihood():
    block = Block(1, 0.6, 0.0, taught="mmmmx", log_s=(0.1, -0.2, 0.0, 0.3))
    grid, timing = grids.fresh_grid(shipped_prior(), 6), told()
    p, level = in_steps(grids.p_by_skill(grid, 0.6)), in_steps(grids.p_by_mastery(grid, 1))
    n = grids.N_SKILL_MODELS
    skill_mass = FORM_WEIGHTS[:, None, None] / len(MODELS) * grid.weight * p**4 * (1.0 - p)
    by_level = FORM_WEIGHTS[:, None] / len(MODELS) * grid.mastery.sum((1, 2)) * level**4 * (1.0 - level)
    chances, mass = np.concatenate((p.ravel(), level.ravel())), np.concatenate((skill_mass.ravel(), by_level.ravel()))
    each = np.exp(timing.log_likelihood(logit(chances), 0.05, 4))
    expected = timing.weights * (each @ mass)
    ease = (timing.weights @ each * mass) @ logit(chances) / (timing.weights @ each @ mass)
    _, after = weigh_starts(grid, block, timing, np.full(2 + n, -math.log(6.0)))
    assert after.weights == pytest.approx(expected / expected.sum(), rel=1e-9)
    centre = 0.05 + SLOPES * ease
    worth = 1.0 / (0.8 / 4 + 0.2)
    mean = (timing.trials * timing.mean + worth * centre) / (timing.trials + worth)
    assert after.mean == pytest.approx(mean, rel=1e-9)
