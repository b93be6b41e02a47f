"""What the engine foretells of simulated dogs whose true chances are known."""

import numpy as np
import pytest

from pupilage.core.simulation.worlds.foretelling import (
    FORECAST_DAYS,
    Foretold,
    calibration_error,
    coverage,
    follow_dogs,
    score_forecasts,
)
from pupilage.core.simulation.worlds.regimes import N_DAYS


@pytest.fixture(scope="module")
def told():
    return follow_dogs(20, seed=3)


def test_calibration_error_is_that_of_a_worked_example():
    # Two bins in use: 0.1 and 0.1 said, none met (gap 0.2); 0.8 and 0.9 said, one met in the bin of 0.9 (gap 0.1),
    # none in the bin of 0.8 (gap 0.8); 1.1 in all over four. By hand, after Naeini, Cooper and Hauskrecht, 2015.
    said, met = np.array([0.1, 0.1, 0.8, 0.9]), np.array([0.0, 0.0, 0.0, 1.0])
    assert calibration_error(said, met) == pytest.approx(1.1 / 4)


def test_brier_skill_is_one_for_perfect_and_nought_for_the_base_rate():
    chance = np.array([0.0, 1.0] * 50)
    flat = np.full((100, N_DAYS, 2), 0.5)
    perfect = Foretold(np.tile(chance[:, None], 3), chance, flat, flat, flat)
    base = Foretold(np.full((100, 3), 0.5), chance, flat, flat, flat)
    rng = np.random.default_rng(0)
    assert [score.skill for score in score_forecasts(perfect, rng)] == [1.0] * 3
    assert [score.skill for score in score_forecasts(base, rng)] == pytest.approx([0.0] * 3)


def test_forecasts_are_chances_and_better_than_the_base_rate(told):
    assert told.forecast.shape == (60, len(FORECAST_DAYS))
    assert np.all((told.forecast > 0.0) & (told.forecast < 1.0))
    scores = score_forecasts(told, np.random.default_rng(3))
    assert all(score.skill > 0.1 for score in scores)


def test_intervals_hold_about_as_often_as_they_say(told):
    # 60 behaviours of 14 blocks in each part; the figure of the record is `pupilage bench forecasts`, on 2,000.
    assert all(0.82 < share < 0.96 for share in coverage(told))


def test_same_seed_gives_the_same_figures(told):
    again = follow_dogs(20, seed=3)
    assert np.array_equal(again.forecast, told.forecast)
    assert np.array_equal(again.low, told.low)
