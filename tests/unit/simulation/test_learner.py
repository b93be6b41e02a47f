"""The simulated pup: what it knows decides what it does, what works teaches, and the night takes a part."""

import math

import numpy as np
import pytest
from scipy.stats import binom

from pupilage.core.simulation.learner import BASE_SKILL, LAPSE, MAX_SKILL, Learner, draw_form


def n_met(learner: Learner, difficulty: float, n: int, seed: int = 0) -> int:
    rng = np.random.default_rng(seed)
    return sum(learner.attempt(difficulty, rng).met for _ in range(n))


def test_even_odds_when_skill_equals_difficulty() -> None:
    assert Learner(skill=1.3, rate=0.1).p_met(1.3) == pytest.approx(0.5)


def test_even_a_perfect_learner_lapses() -> None:
    assert Learner(skill=50.0, rate=0.1).p_met(0.0) == pytest.approx(1.0 - LAPSE / 2)


def test_attempts_are_met_as_often_as_the_probability_says() -> None:
    """With no gain and no cost to skill the count is binomial; the bounds hold all but 1 in 10,000 of it."""
    learner = Learner(skill=MAX_SKILL, rate=0.0)
    p, rng, met = learner.p_met(MAX_SKILL - 1.0), np.random.default_rng(3), 0
    for _ in range(2000):
        learner.skill = MAX_SKILL
        met += learner.attempt(MAX_SKILL - 1.0, rng).met
    low, high = binom.interval(0.9999, 2000, p)
    assert low <= met <= high


def test_practice_where_it_is_neither_easy_nor_hopeless_teaches_most() -> None:
    def gain(difficulty: float) -> float:
        learner = Learner(skill=2.0, rate=0.1)
        n_met(learner, difficulty, 10)
        return learner.skill - 2.0

    assert gain(0.9) > gain(-3.0)
    assert gain(0.9) > gain(6.0)


def test_skill_stays_within_its_bounds() -> None:
    quick, hopeless = Learner(skill=6.4, rate=5.0), Learner(skill=-0.6, rate=0.0)
    n_met(quick, 5.4, 200)
    n_met(hopeless, 9.0, 200)
    assert quick.skill == MAX_SKILL
    assert hopeless.skill == pytest.approx(BASE_SKILL - 0.5)


def test_half_of_what_was_learnt_is_left_after_a_half_life() -> None:
    learner = Learner(skill=BASE_SKILL + 2.0, rate=0.1, half_life_days=4.0)
    for _ in range(4):
        learner.overnight()
    assert learner.skill == pytest.approx(BASE_SKILL + 1.0)


def test_night_takes_the_weariness_and_brings_the_form_of_the_day() -> None:
    learner = Learner(skill=1.0, rate=0.1, weariness=0.6)
    learner.overnight(form=-0.6)
    assert (learner.weariness, learner.form) == (0.0, -0.6)


def test_a_later_set_of_a_session_is_harder_and_a_later_session_of_a_day_too() -> None:
    learner = Learner(skill=1.0, rate=0.1)
    fresh = learner.p_met(0.0)
    learner.after_block(3, np.random.default_rng(0))
    later_set = learner.p_met(0.0)
    learner.begin_session(n_earlier_today=1)
    assert later_set < learner.p_met(0.0) < fresh


def test_good_blocks_make_the_learning_last() -> None:
    rng, learner = np.random.default_rng(5), Learner(skill=1.0, rate=0.1, half_life_days=4.0)
    for _ in range(20):
        learner.after_block(5, rng)
    assert learner.half_life_days > 4.0


def test_a_block_without_success_does_not_make_the_learning_last() -> None:
    rng, learner = np.random.default_rng(5), Learner(skill=1.0, rate=0.1, half_life_days=4.0)
    for _ in range(20):
        learner.after_block(0, rng)
    assert learner.half_life_days == 4.0


def test_latency_falls_as_skill_grows() -> None:
    """Medians of 400 draws with log-sd 0.3 have a relative standard error of 2 %; these differ by far more."""

    def median_s(skill: float) -> float:
        rng = np.random.default_rng(8)
        return float(np.median([Learner(skill=skill, rate=0.0).attempt(1.0, rng).latency_s for _ in range(400)]))

    assert median_s(4.0) < median_s(1.0) < median_s(-0.5)


def test_a_hold_reaches_its_target_as_often_as_a_try_is_met() -> None:
    rng, lasted, n = np.random.default_rng(11), 0, 2000
    p = Learner(skill=2.0, rate=0.0).p_met(1.0)
    for _ in range(n):
        lasted += Learner(skill=2.0, rate=0.0).hold(1.0, 20.0, rng) >= 20.0
    low, high = binom.interval(0.9999, n, p)
    assert low <= lasted <= high


def test_half_the_target_is_reached_as_the_weibull_says() -> None:
    """Survival at t is p to the power (t / target)^1.4 (Weibull), so at half the target p^(0.5^1.4)."""
    rng, lasted, n = np.random.default_rng(12), 0, 2000
    p = Learner(skill=2.0, rate=0.0).p_met(2.0)
    for _ in range(n):
        lasted += Learner(skill=2.0, rate=0.0).hold(2.0, 20.0, rng) >= 10.0
    low, high = binom.interval(0.9999, n, math.pow(p, 0.5**1.4))
    assert low <= lasted <= high


def test_form_of_the_day_is_even_on_average() -> None:
    """1,000 draws with sd 0.42 have a standard error of 0.014; four of them are allowed."""
    rng = np.random.default_rng(2)
    assert abs(float(np.mean([draw_form(rng) for _ in range(1000)]))) < 0.056
