"""The filter of simulated dogs: mass moves without being smeared, and a block is taken in by Bayes' rule."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from pupilage.core.simulation.worlds import laws
from pupilage.core.simulation.worlds.beliefs import Beliefs
from pupilage.core.simulation.worlds.cells import START_WEIGHTS, mastered_at_start
from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.regimes import Truth, draw_chance, draw_dogs, world_of
from pupilage.core.simulation.worlds.season import Outcomes
from pupilage.core.simulation.worlds.spreading import spread
from pupilage.core.training.posterior import learners
from pupilage.core.training.worth.allocation import balanced_price

WORLD = replace(world_of("hard", Truth.BKT), latency=False)


def block(level: int, n_met: int) -> Outcomes:
    one = np.zeros(1, dtype=np.int64)
    met = np.arange(5)[None, :] < n_met
    return Outcomes(0, one, one, one + level, one + n_met, np.full((1, 5), np.nan), np.zeros(1), met)


def test_spreading_keeps_mass_and_the_first_three_moments() -> None:
    grid = np.linspace(-1.0, 6.0, 39)
    points = np.random.default_rng(0).uniform(-1.0, 6.0, 39)
    moved = spread(grid, points).astype(np.float64)
    for power in range(4):
        assert moved @ grid**power == pytest.approx(points**power, abs=2e-4)


def test_a_block_is_weighed_by_bayes_rule_summed_by_hand() -> None:
    beliefs = Beliefs(WORLD, 1, np.full((1, 8), 1))
    beliefs.observe(block(level=1, n_met=2))
    joint = beliefs.joint()[0, :, -2]
    believed = (joint[:, None] * beliefs.mastery[0, 0, :, 0].sum((1, 2))).sum(0) / joint.sum()
    expected = np.zeros(7)
    for form, weight in zip(learners.FORMS, learners.FORM_WEIGHTS, strict=True):
        p = laws.p_met_bkt(np.arange(7), 1, form=form)
        after = weight * mastered_at_start(WORLD, 0.8) * binom.pmf(2, 5, p)
        expected += np.mean([learners.learn_by_levels(after, rate, 1, 5) for rate in WORLD.regime.rates], axis=0)
    assert believed == pytest.approx(expected / expected.sum(), abs=1e-6)


def test_half_lives_grow_a_step_with_the_chance_that_the_simulated_dogs_have() -> None:
    beliefs = Beliefs(WORLD, 1, np.full((1, 8), 1))
    beliefs.observe(block(level=0, n_met=5))
    lives = beliefs.skills[0, 0, 1, 0, :, 0].sum((0, 2))
    grown = 5 * learners.GROWTH_PER_HIT
    expected = START_WEIGHTS * (1.0 - grown) + np.concatenate(([0.0], START_WEIGHTS[:-1])) * grown
    assert lives == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("truth", [Truth.RW, Truth.PFA])
def test_the_spread_that_is_believed_after_ten_days_is_that_of_the_errors(truth: Truth) -> None:
    """Ratio of errors to believed sd, 1 when calibrated; bounds wide enough for 40 dogs with one behaviour."""
    n, rng = 40, np.random.default_rng(11)
    world = replace(world_of("hard", truth), latency=True)
    kennel = Kennel(world, draw_dogs(world, n, rng), draw_chance(world, n, rng))
    beliefs = Beliefs(world, n, kennel.dogs.spacing_index)
    rows, behaviour = np.arange(n), np.zeros(n, dtype=np.int64)
    for day in range(10):
        for tired in (0.0, -0.15):
            level, weary = rng.integers(0, 4, n), np.full(n, tired)
            met, latency = kennel.train(rows, behaviour, level, form=kennel.chance.form[:, day], tired=weary)
            beliefs.observe(Outcomes(day, rows, behaviour, level, met.sum(1), latency, weary, met))
        kennel.overnight(day)
        beliefs.night()
    cells = beliefs.skills[:, 0, 0, 0 if truth is Truth.RW else 1, :, 0].sum((1, 2))
    mean = cells @ beliefs.grid
    sd = np.sqrt(cells @ beliefs.grid**2 - mean**2)
    errors = (kennel.skill[:, 0] - mean) / sd
    assert abs(errors.mean()) < 0.5
    assert 0.75 < errors.std() < 1.3


def test_the_price_lies_where_the_sessions_wanted_are_the_sessions_left() -> None:
    prices = np.linspace(0.0, 1.0, 11)
    worth = 5.0 * (1.0 - prices) ** 2  # sessions wanted at a price: 10 (1 - price)
    place = balanced_price(np.tile(worth, (3, 1)), prices, np.array([4.0, 9.0, 20.0]))
    assert place == pytest.approx([6.0, 1.0, 0.0], abs=1e-9)
