"""The simulated pups that policies for outings are compared on."""

import numpy as np
import pytest

from pupilage.core.care.toilet.hazards import PULL
from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.outings.comparison import Runs, compare
from pupilage.core.simulation.outings.days import N_STEPS, draw_day
from pupilage.core.simulation.outings.policies import ByModel, Interval
from pupilage.core.simulation.outings.stay import Seen, World, draw_pups, live

N = 120


@pytest.fixture(scope="module")
def pups():
    return draw_pups(N, World(), np.random.default_rng(4))


class Never:
    """Takes no pup out."""

    def begin_day(self, scale_min):
        pass

    def wants_out(self, now):
        return np.zeros_like(now.resting)

    def saw(self, seen: Seen):
        assert not seen.success.any()


def test_scales_of_pups_differ_by_35_percent_and_the_mean_hazard_is_the_curve_s():
    pups = draw_pups(40_000, World(), np.random.default_rng(1))
    assert np.std(np.log(pups.hazard)) / 3 == pytest.approx(0.35, abs=0.01)
    # the mean of a log-normal with standard deviation 1.05: its own relative error is 1.4 / 200
    assert pups.hazard.mean() == pytest.approx(1.0, abs=0.03)
    assert np.median(pups.pull) == pytest.approx(PULL, rel=0.02)


def test_day_has_six_naps_four_meals_and_four_bouts_of_play():
    day = draw_day(50, np.random.default_rng(2))
    assert day.woke.sum(axis=0).tolist() == [6] * 50
    assert day.ate.sum(axis=0).tolist() == [4] * 50
    assert day.played.sum(axis=0).tolist() == [4] * 50
    assert day.resting.shape == (N_STEPS, 50)
    assert set(np.unique(day.times)) <= {
        float(np.prod(one)) for one in np.array(np.meshgrid([1, 4], [1, 2], [1, 3])).T.reshape(-1, 3)
    }


def test_pup_that_is_never_taken_out_goes_indoors(pups):
    counts = live(pups, Never(), seed=1)
    assert counts.outings.sum() == 0
    assert counts.accidents.mean() > 3.0


def test_same_seed_gives_the_same_stay(pups):
    first, again = (live(pups, Interval(60.0), seed=3) for _ in range(2))
    assert np.array_equal(first.accidents, again.accidents)
    assert not np.array_equal(first.accidents, live(pups, Interval(60.0), seed=4).accidents)


def test_shorter_interval_has_fewer_accidents(pups):
    often, seldom = live(pups, Interval(30.0), seed=1), live(pups, Interval(90.0), seed=1)
    assert often.outings.mean() > seldom.outings.mean()
    assert often.accidents.mean() < seldom.accidents.mean()


@pytest.fixture(scope="module")
def by_model(pups):
    policy = ByModel(pups, 0.05)
    return policy, live(pups, policy, seed=2)


def test_chosen_risk_is_carried(by_model):
    _, counts = by_model
    carried = counts.accidents.sum() / (counts.accidents.sum() + counts.outings.sum())
    assert carried == pytest.approx(0.05, abs=0.006)  # four standard errors over 120 pups


def test_own_factors_are_learned(pups, by_model):
    policy, _ = by_model
    assert np.corrcoef(np.log(pups.hazard), np.log(policy.hazards.own))[0, 1] > 0.85


def test_accidents_between_two_settings_are_read_off_the_line():
    runs = Runs(np.array([[20.0], [10.0]]), np.array([[1.0], [4.0]]))
    assert runs.accidents_at(15.0, np.array([0])) == pytest.approx(2.0)


@pytest.mark.parametrize("n", [0, 49, 20_001])
def test_too_few_or_too_many_pups_are_refused(n):
    with pytest.raises(InvalidInput, match="give 50 to 20000"):
        compare(n, seed=1)
