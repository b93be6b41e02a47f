"""How latencies come into the state: when their day is over, in any split, and never to the harm of what is decided."""

from dataclasses import replace

import numpy as np
import pytest

from engine_cases import WAIT, day, series
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import at_moment, fold, fold_dog, fresh_state
from pupilage.core.training.record.evidence import SessionKind

BEHAVIOURS = {WAIT.key: WAIT}


def lessons(latencies_s, *, letters="mmmxmmmmmx", step="a"):
    """Return a session of ten tries on each of eight days, one mean latency a day."""
    return [
        trial
        for n, seconds in enumerate(latencies_s)
        for trial in series(letters, step=step, session=f"s{n}", start=day(n), latencies_s=(seconds,) * len(letters))
    ]


def untimed(trials):
    return [replace(trial, latency_s=None) for trial in trials]


def chance(trials, *, on, step=0):
    return read_step(at_moment(fold_dog(BEHAVIOURS, trials), WAIT.key, now=day(on)), step).mean


QUICKER = [3.0, 2.5, 2.0, 1.7, 1.4, 1.2, 1.0, 0.8]
SLOWER = QUICKER[::-1]


def test_day_s_latencies_count_once_it_is_over_and_not_before():
    trials = lessons([1.5, 1.5, 4.0])
    assert chance(trials[:-10], on=1) == chance([*trials[:10], *untimed(trials[10:20])], on=1)
    assert chance(trials, on=2) == chance([*trials[:20], *untimed(trials[20:])], on=2)
    assert chance(trials, on=3) != chance([*trials[:20], *untimed(trials[20:])], on=3)


def test_pup_that_starts_ever_sooner_is_thought_further_than_one_that_starts_ever_later():
    assert chance(lessons(QUICKER), on=8, step=2) > chance(lessons(SLOWER), on=8, step=2) + 0.02


def test_steady_latency_says_little_of_a_step_that_stays_as_easy():
    assert chance(lessons([1.5] * 8), on=8) == pytest.approx(chance(untimed(lessons([1.5] * 8)), on=8), abs=0.03)


def test_any_split_of_the_record_gives_the_same_belief():
    trials, behaviours = lessons(QUICKER[:3]), [WAIT]
    whole = fold(fresh_state(behaviours), trials)
    for cut in (1, 9, 10, 13, 25):
        parts = fold(fold(fresh_state(behaviours), trials[:cut]), trials[cut:])
        one, other = (at_moment(state, WAIT.key, now=day(3)) for state in (whole, parts))
        assert np.array_equal(one.grid.weight, other.grid.weight)
        assert np.array_equal(one.models, other.models)


def test_order_of_starts_within_a_block_says_nothing():
    one = series("mmmmm", latencies_s=(1.0, 2.0, 3.0, 1.5, 0.5))
    other = series("mmmmm", latencies_s=(0.5, 3.0, 1.0, 2.0, 1.5))
    assert chance(one, on=1) == pytest.approx(chance(other, on=1), abs=1e-12)


def test_what_is_no_time_and_what_was_no_met_training_try_says_nothing():
    letters = "mxmhm"
    plain = series(letters)
    strange = series(letters, latencies_s=(0.0, 2.0, None, 1.0, None))
    assert chance(strange, on=1) == chance(plain, on=1)
    probes = series(letters, kind=SessionKind.PROBE, latencies_s=(1.0,) * 5)
    assert chance(probes, on=1) == chance(untimed(probes), on=1)


def test_a_latency_of_an_hour_moves_the_chance_no_more_than_a_slow_one():
    usual = lessons([1.5] * 4)
    forgotten = [*usual[:-1], replace(usual[-1], latency_s=3600.0)]
    assert chance(forgotten, on=4) == pytest.approx(chance(usual, on=4), abs=0.05)


def test_probe_and_second_behaviour_of_the_day_are_gone_through_again_in_their_order():
    other = replace(WAIT, key="other")
    trials = sorted(
        [*lessons(QUICKER[:2]), *series("mmxm", behaviour="other", session="o", start=day(0, hour=10))],
        key=lambda trial: trial.at,
    )
    both = {WAIT.key: WAIT, "other": other}
    timed, plain = (fold_dog(both, some) for some in (trials, untimed(trials)))
    a, b = (at_moment(state, "other", now=day(1)) for state in (timed, plain))
    assert a.grid.growth_hits == b.grid.growth_hits == 3
    assert np.array_equal(a.grid.skill, b.grid.skill)
