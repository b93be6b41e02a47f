"""The worlds in which rules of training are scored."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds import laws
from pupilage.core.simulation.worlds.comparison import compare_policies
from pupilage.core.simulation.worlds.fixed_rules import FixedRule
from pupilage.core.simulation.worlds.regimes import (
    N_BEHAVIOURS,
    PREREQUISITE_LEVEL,
    PREREQUISITES,
    Truth,
    draw_chance,
    draw_dogs,
    plain,
    world_of,
)
from pupilage.core.simulation.worlds.scoring import p_pass
from pupilage.core.simulation.worlds.season import Observation, Outcomes, Season
from pupilage.core.training.posterior import learners

N = 60


def season(world, policy, *, seed=1, n=N):
    rng = np.random.default_rng(seed)
    return Season(world, draw_dogs(world, n, rng), draw_chance(world, n, rng), policy)


class Watched(FixedRule):
    """A fixed rule that keeps what it saw and what came of it."""

    def __post_init__(self):
        super().__post_init__()
        self.seen: list[Observation] = []
        self.came: list[Outcomes] = []

    def choose(self, observation):
        self.seen.append(observation)
        return super().choose(observation)

    def observe(self, outcomes):
        self.came.append(outcomes)
        super().observe(outcomes)


def test_goal_is_eight_of_ten_by_the_binomial():
    p = np.linspace(0.01, 0.99, 23)
    assert p_pass(p) == pytest.approx(stats.binom(10, p).sf(7), rel=1e-12)


@pytest.mark.parametrize("truth", list(Truth))
def test_same_seed_gives_the_same_scores(truth):
    world = world_of("mod", truth)
    assert compare_policies(world, n_dogs=40, seed=3) == compare_policies(world, n_dogs=40, seed=3)
    assert compare_policies(world, n_dogs=40, seed=3) != compare_policies(world, n_dogs=40, seed=4)


def test_no_more_than_the_capacity_is_trained_and_no_behaviour_more_than_twice_a_day():
    world = replace(world_of("hard", Truth.RW), p_missed=0.0)
    policy = Watched(N)
    season(world, policy).run()
    blocks = np.zeros((21, N, N_BEHAVIOURS), dtype=int)
    for came in policy.came:
        np.add.at(blocks, (came.day, came.rows, came.behaviour), 1)
    assert blocks.max() <= 4
    assert (blocks.sum(2) <= 2 * world.regime.capacity).all()


def test_behaviour_waits_until_its_prerequisite_has_been_shown():
    policy = Watched(N)
    season(world_of("mod", Truth.RW), policy).run()
    shown = np.zeros((N, N_BEHAVIOURS), dtype=bool)
    for came in policy.came:
        for waiting, needs in PREREQUISITES:
            assert shown[came.rows[came.behaviour == waiting], needs].all()
        good = (came.n_met >= 4) & (came.level >= PREREQUISITE_LEVEL)
        shown[came.rows[good], came.behaviour[good]] = True


def test_missed_sessions_are_missed_as_often_as_the_world_says():
    world = world_of("easy", Truth.RW)
    chance = draw_chance(world, 400, np.random.default_rng(2))
    n = chance.missed.size
    # Monte-Carlo error of a share: sqrt(p (1 - p) / n); four of them
    assert chance.missed.mean() == pytest.approx(world.p_missed, abs=4 * np.sqrt(0.08 * 0.92 / n))


def test_levels_stay_between_the_first_and_the_goal():
    policy = Watched(N)
    played = season(world_of("mod", Truth.PFA), policy)
    played.run()
    for came in policy.came:
        assert (came.level >= 0).all()
        assert (came.level <= played.dogs.goal[came.rows, came.behaviour]).all()


@pytest.mark.parametrize("truth", [Truth.RW, Truth.PFA, Truth.BKT])
def test_easier_regime_gives_more_goals_to_every_rule(truth):
    by_regime = [compare_policies(world_of(name, truth), n_dogs=200, seed=1) for name in ("hard", "mod", "easy")]
    for hard, mod, easy in zip(*by_regime, strict=True):
        assert hard.goals_met < mod.goals_met < easy.goals_met


def test_which_rule_is_best_depends_on_how_the_dogs_learn():
    # sets of five win over eight of ten where dogs learn by RW, and lose where they learn by PFA: no rule is best
    def gap(truth):
        five, ten, *_ = compare_policies(plain(world_of("mod", truth)), n_dogs=500, seed=1)
        return five.goals_met - ten.goals_met, 3 * np.hypot(five.standard_error, ten.standard_error)

    difference, error = gap(Truth.RW)
    assert difference > error
    difference, error = gap(Truth.PFA)
    assert difference < -error


def test_rw_learns_towards_nine_in_ten():
    skill = learners.ASYMPTOTE + 1.0
    assert laws.p_met(skill, 1.0, guess=0.0, lapse=0.0) == pytest.approx(0.90, abs=0.001)
    assert laws.gain_rw(skill, 0.1, 1.0, 5, 5) == pytest.approx(0.0, abs=1e-12)


def test_rw_block_is_the_same_as_its_trials_one_by_one():
    skill = 0.3
    for _ in range(4):
        skill += float(laws.gain_rw(skill, 0.07, 1.0, 1, 1))
    assert float(0.3 + laws.gain_rw(0.3, 0.07, 1.0, 4, 4)) == pytest.approx(skill, rel=1e-12)


def test_pfa_learns_most_at_three_in_four():
    p = np.linspace(0.05, 0.95, 91)
    assert p[laws.gain_pfa(0.07, p, 5, 5).argmax()] == pytest.approx(0.75)


def test_both_laws_of_forgetting_leave_one_half_after_the_half_life():
    assert laws.kept_exponential(5.0, 5.0) == pytest.approx(0.5)
    assert laws.kept_power(laws.psi_of(5.0), 0.0, 5.0) == pytest.approx(0.5)


def test_nights_of_the_power_law_multiply_to_the_whole_gap():
    psi = laws.psi_of(4.0)
    nights = np.prod([laws.kept_power(psi, day) for day in range(6)])
    assert nights == pytest.approx(float(laws.kept_power(psi, 0.0, 6.0)), rel=1e-12)


def test_mastery_of_bkt_is_the_closed_form():
    # Corbett & Anderson 1995: unknown after n opportunities with probability (1 - T)^n
    assert laws.p_mastering(0.1 / learners.BKT_LEARN, 12) == pytest.approx(1 - 0.9**12, rel=1e-12)


@pytest.mark.parametrize("n", [0, 1, 20_001])
def test_number_of_dogs_that_cannot_be_scored_is_refused(n):
    with pytest.raises(InvalidInput, match="cannot be scored"):
        compare_policies(world_of("mod", Truth.RW), n_dogs=n, seed=1)


def test_unknown_regime_is_refused():
    with pytest.raises(InvalidInput, match="choose hard, mod or easy"):
        world_of("brutal", Truth.RW)
