"""Which tries tell of a latency, what is left out, and what is refused."""

import math
from dataclasses import replace

import pytest

from engine_cases import WAIT, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.rewards.latencies import Times, chance_slower, expect_latency, find_typical_s, times_of

STEP = replace(WAIT.steps[0], criterion=replace(WAIT.steps[0].criterion, latency_s=2.0))


def test_met_tries_tell_their_latency_and_misses_on_the_clock_are_censored():
    trials = series("mxhvm", latencies_s=(1.0, None, 0.5, 0.4, 1.5))
    assert times_of(STEP, trials) == Times((1.0, 1.5), (2.0,), 0)


def test_misses_of_a_session_without_a_clock_and_of_steps_without_a_limit_say_nothing():
    timed = series("m", latencies_s=(1.0,))
    assert times_of(STEP, [*timed, *series("xxx", session="other")]).censored_s == ()
    assert times_of(WAIT.steps[0], series("mx", latencies_s=(1.0,))).censored_s == ()


def test_other_steps_probes_and_impossible_times_are_left_out_and_the_last_counted():
    trials = [
        *series("mmmm", latencies_s=(0.0, -1.0, math.nan, 1.2)),
        *series("m", step="b", latencies_s=(9.0,)),
        *series("m", session="p", kind=SessionKind.PROBE, latencies_s=(9.0,)),
    ]
    assert times_of(STEP, trials) == Times((1.2,), (), 3)
    assert expect_latency(times_of(STEP, trials)).n_left_out == 3


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_what_is_no_time_is_refused_with_all_faults_at_once(wrong):
    with pytest.raises(InvalidInput) as caught:
        expect_latency(Times((1.0, wrong), (wrong,)))
    assert len(caught.value.problems) == 2
    with pytest.raises(InvalidInput, match="no time from cue"):
        chance_slower([1.0] * 12 + [wrong])


def test_no_latency_leaves_the_prior_and_is_not_enough():
    found = expect_latency(Times())
    assert not found.enough
    assert found.typical_s == pytest.approx(1.5)


def test_five_are_enough_and_the_intervals_hold_one_another():
    found = expect_latency(Times((1.0, 1.2, 0.8, 1.1, 0.9)))
    assert found.enough
    assert found.next_low_s < found.low_s < found.typical_s < found.high_s < found.next_high_s


def test_tries_that_ran_out_of_time_make_the_typical_start_slower():
    plain = expect_latency(Times((1.0, 1.2, 0.8, 1.1, 0.9)))
    assert expect_latency(Times((1.0, 1.2, 0.8, 1.1, 0.9), (2.0, 2.0))).typical_s > plain.typical_s


def test_typical_one_alone_is_the_same_figure():
    times = Times((1.0, 1.2, 0.8, 1.1, 0.9), (2.0, 2.0))
    assert find_typical_s(times) == expect_latency(times).typical_s
    assert find_typical_s(Times((1.0,) * 4)) is None


def test_many_more_censored_than_taken_stay_finite():
    found = expect_latency(Times((1.0,), (2.0,) * 200))
    assert all(math.isfinite(x) for x in (found.low_s, found.high_s, found.next_high_s))
    assert found.typical_s > 2.0


def test_slower_is_asked_of_ten_or_more_and_goes_the_right_way():
    assert chance_slower([1.0, 1.1] * 4) is None
    steady = [1.0, 1.2, 0.9, 1.1, 1.0, 1.0, 1.2, 0.9, 1.1, 1.0]
    assert 0.3 < chance_slower(steady) < 0.7
    assert chance_slower([*steady[:5], *(3.0 * t for t in steady[5:])]) > 0.95
    assert chance_slower([*steady[:5], *(t / 3.0 for t in steady[5:])]) < 0.05


def test_newest_below_one_is_refused():
    with pytest.raises(InvalidInput, match="give 1 or more"):
        chance_slower([1.0] * 20, newest=0)
