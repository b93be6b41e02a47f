"""Learners and policies of others, one dog at a time: they meet the same season as the program's own."""

from dataclasses import replace

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds import laws
from pupilage.core.simulation.worlds.comparison import FIXED, compare_policies, play
from pupilage.core.simulation.worlds.decisions import ROUND_ROBIN
from pupilage.core.simulation.worlds.one_dog import Came, Outcome, programmes_of
from pupilage.core.simulation.worlds.own_dogs import own_dogs
from pupilage.core.simulation.worlds.own_policies import own_policies
from pupilage.core.simulation.worlds.regimes import N_BEHAVIOURS, Truth, draw_chance, draw_dogs, plain, world_of

WORLD = world_of("mod", Truth.RW)
N = 30


def drawn(world=WORLD, n=N, seed=3):
    rng = np.random.default_rng(seed)
    return draw_dogs(world, n, rng), draw_chance(world, n, rng)


class InTurn:
    """Sets of five, behaviour after behaviour, written for one dog."""

    def __init__(self, programme):
        self.goals = programme.goals
        self.steps = [0] * len(self.goals)
        self.last = list(range(-len(self.goals), 0))
        self.turn = 0
        self.came: list[Came] = []

    def choose(self, observation):
        behaviour = observation.running
        if behaviour is None:
            open_ = [b for b in range(len(self.goals)) if observation.allowed[b]]
            if not open_:
                return None
            behaviour = min(open_, key=self.last.__getitem__)
        return behaviour, self.steps[behaviour]

    def observe(self, outcomes):
        self.came.append(outcomes)
        self.turn += 1
        self.last[outcomes.behaviour] = self.turn
        n_met = sum(one.met for one in outcomes.outcomes)
        step = outcomes.step + (n_met >= 4) - (n_met <= 2)
        self.steps[outcomes.behaviour] = max(0, min(step, self.goals[outcomes.behaviour]))


class Toward:
    """A dog that learns toward the level, written for one dog."""

    def __init__(self, programme, rng):
        regime = WORLD.regime
        self.spacings, self.base = programme.spacings, regime.base
        self.skill = rng.normal(regime.skill_mean, regime.skill_sd, N_BEHAVIOURS)
        self.rate = rng.choice(regime.rates, N_BEHAVIOURS)
        self.life = 1 + (rng.random(N_BEHAVIOURS) < regime.p_longer)
        self.lives, self.rng = regime.half_lives, rng

    def conditions(self, form, tired):
        self.shift = form + tired

    def attempt(self, behaviour, step, rng):
        p = 1.0 / (1.0 + np.exp(step * self.spacings[behaviour] - self.skill[behaviour] - self.shift))
        return Outcome(bool(rng.random() < p), 2.0)

    def after_block(self, behaviour, step, outcomes):
        n_met = sum(one.met for one in outcomes)
        delta = step * self.spacings[behaviour]
        self.skill[behaviour] += laws.gain_rw(self.skill[behaviour], self.rate[behaviour], delta, n_met, 5)
        self.life[behaviour] = min(6, self.life[behaviour] + (self.rng.random() < 0.06 * n_met))

    def overnight(self, days):
        kept = 2.0 ** (-days / self.lives[self.life])
        self.skill = self.base + (self.skill - self.base) * kept


def test_rule_written_for_one_dog_scores_as_the_same_rule_for_all_at_once():
    dogs, chance = drawn()
    own = play(WORLD, dogs, chance, own_policies(InTurn, "InTurn"))
    assert (own == play(WORLD, dogs, chance, FIXED[ROUND_ROBIN])).all()


def test_policy_hears_of_its_own_dog_s_trials_only():
    dogs, chance = drawn()
    made = []

    def make(programme):
        made.append(InTurn(programme))
        return made[-1]

    play(WORLD, dogs, chance, own_policies(make, "InTurn"))
    assert len(made) == N
    for dog, policy in enumerate(made):
        n_sessions = (~chance.missed[dog]).sum()
        assert len(policy.came) <= 2 * n_sessions
        assert all(len(came.outcomes) == 5 for came in policy.came)
        assert all(np.isfinite(one.latency_s) == one.met for came in policy.came for one in came.outcomes)


def test_dog_written_alone_fares_as_the_world_s_own_of_its_kind():
    world = plain(WORLD)
    (ours,) = compare_policies(world, n_dogs=80, seed=5, policies={"x": FIXED[ROUND_ROBIN]})
    (theirs,) = compare_policies(
        world, n_dogs=80, seed=5, policies={"x": FIXED[ROUND_ROBIN]}, guests=own_dogs(Toward, "Toward", seed=5)
    )
    # other draws: three standard errors of the difference
    error = np.hypot(ours.standard_error, theirs.standard_error)
    assert theirs.goals_met == pytest.approx(ours.goals_met, abs=3 * error)


def test_dogs_of_your_own_have_the_same_luck_whatever_part_they_are_in(monkeypatch):
    dogs, chance = drawn(n=6)
    whole = play(WORLD, dogs, chance, FIXED[ROUND_ROBIN], guests=own_dogs(Toward, "Toward", seed=1))
    monkeypatch.setattr("pupilage.core.simulation.worlds.comparison.DOGS_AT_ONCE", 2)
    parts = play(WORLD, dogs, chance, FIXED[ROUND_ROBIN], guests=own_dogs(Toward, "Toward", seed=1))
    assert (whole == parts).all()


def test_programme_says_what_the_season_asks():
    dogs, _ = drawn(n=2)
    first = programmes_of(replace(WORLD, prerequisites=((1, 0),)), dogs)[0]
    assert first.goals == tuple(dogs.goal[0])
    assert set(first.spacings) <= {0.6, 0.8, 1.0}
    assert first.prerequisites == ((1, 0),)
    assert (first.sessions_a_day, first.n_steps, first.n_days) == (6, 6, 21)


def test_object_without_the_methods_is_refused():
    dogs, chance = drawn(n=2)
    with pytest.raises(InvalidInput, match="a policy needs choose and observe"):
        play(WORLD, dogs, chance, own_policies(lambda programme: object(), "nothing"))
    with pytest.raises(InvalidInput, match="a learner needs attempt, after_block and overnight"):
        play(WORLD, dogs, chance, FIXED[ROUND_ROBIN], guests=own_dogs(lambda *_: object(), "nothing", seed=1))
