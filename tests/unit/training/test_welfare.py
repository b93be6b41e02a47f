"""When a session should stop, and how seldom a steady one is stopped for nothing."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from engine_cases import MAT, START, WAIT, hold_trials, series
from pupilage.core.training.criterion.welfare import LIVE_WITHIN, pause_reason

STEP = WAIT.steps[1]


def reason_of(trials, *, after=timedelta(0), behaviour=WAIT):
    found = pause_reason(behaviour, trials, trials, now=trials[-1].at + after, next_step=STEP)
    return None if found is None else str(found)


def test_short_steady_session_goes_on():
    assert reason_of(series("mmxmmmhmmm")) is None


def test_fifteen_trials_are_enough_and_the_sentence_names_the_next_start():
    assert reason_of(series("m" * 14)) is None
    assert reason_of(series("m" * 15)) == (
        "15 trials are enough for one session: stop on a good one. Next time start at “step b”."
    )


def test_five_minutes_are_enough_for_trials_but_not_for_holds():
    slow = series("mmm", every_s=150.0)
    assert "5 minutes are enough" in reason_of(slow)
    holds = hold_trials(*[(60.0, 60.0, False)] * 8)
    assert reason_of(holds, behaviour=MAT) is None


def test_session_that_ended_long_ago_is_not_stopped_again():
    trials = series("m" * 15)
    assert reason_of(trials, after=LIVE_WITHIN) is not None
    assert reason_of(trials, after=LIVE_WITHIN + timedelta(seconds=1)) is None


def test_latency_that_doubles_stops_the_session():
    latencies = [1.0, 1.2, 0.9, 1.1, 1.0, 2.4, 2.6, 2.2]
    assert "2.4 s after 1.0 s before" in reason_of(series("m" * 8, latencies_s=latencies))


@pytest.mark.parametrize(
    "latencies",
    [
        [1.0, 1.2, 0.9, 1.1, 1.0, 1.4, 1.6, 1.2],  # not twice as long
        [0.2, 0.2, 0.2, 0.2, 0.2, 0.6, 0.6, 0.6],  # three times, but not by a second
        [1.0, 1.0, 1.0, 1.0, 3.0, 3.0, 3.0],  # too few earlier ones
        [1.0, 1.2, 0.9, 1.1, 1.0, 1.0, 9.0, 1.0],  # one slow start
    ],
)
def test_latency_that_does_not_rise_clearly_lets_it_go_on(latencies):
    assert reason_of(series("m" * len(latencies), latencies_s=latencies)) is None


def test_rewards_that_dry_up_stop_the_session():
    brisk = series("mmmmmm", every_s=6.0)
    dry = series("xvxvm", start=brisk[-1].at + timedelta(seconds=20), every_s=15.0)
    assert "Rewards fell from 10 to 1 a minute" in reason_of([*brisk, *dry])


def test_rewards_by_the_minute_are_not_judged_in_a_session_of_seconds():
    assert reason_of(series("mmmmmm" + "xvxvx", every_s=1.0)) is None


def test_two_misses_straight_after_going_back_a_step_stop_the_session():
    lowered = [*series("mxxx", step="b"), *series("xx", step="a", start=START + timedelta(minutes=1))]
    assert "2 misses straight after going back" in reason_of(lowered)


@pytest.mark.parametrize(("before", "after"), [("a", "b"), ("b", "b")])
def test_two_misses_after_a_raise_or_a_stay_do_not(before, after):
    trials = [*series("mmm", step=before), *series("xx", step=after, start=START + timedelta(minutes=1))]
    assert reason_of(trials) is None


def test_two_misses_later_in_the_lowered_step_do_not():
    trials = [*series("xxx", step="b"), *series("mxx", step="a", start=START + timedelta(minutes=1))]
    assert reason_of(trials) is None


def test_step_that_has_left_the_catalogue_is_no_lower():
    trials = [*series("x", step="gone"), *series("xx", step="a", start=START + timedelta(minutes=1))]
    assert reason_of(trials) is None


def test_steady_session_is_stopped_for_its_latency_in_at_most_three_percent():
    """Seeded simulation: log-normal latencies, median 1 s, sd of the log 0.4 (from memory).

    14 trials judged in turn. 2,000 sessions: a Monte-Carlo standard error of 0.4 % at 3 %, so a bound of 4 %.
    """
    rng = np.random.default_rng(20310504)
    stopped = 0
    for latencies in np.exp(rng.normal(0.0, 0.4, size=(2000, 14))):
        trials = series("m" * 14, latencies_s=latencies.tolist())
        stopped += any(reason_of(trials[:n]) is not None for n in range(8, 15))
    assert stopped / 2000 <= 0.04


def test_steady_session_is_stopped_for_its_rate_in_at_most_three_percent():
    """Seeded simulation: trials 4 to 10 s apart, met with chance 0.8, 14 trials judged in turn; error as above."""
    rng = np.random.default_rng(20310505)
    stopped = 0
    for gaps, draws in zip(rng.uniform(4, 10, (2000, 14)), rng.random((2000, 14)), strict=True):
        plain = series("".join("m" if draw < 0.8 else "x" for draw in draws))
        seconds = np.cumsum(gaps).tolist()
        trials = [replace(t, at=START + timedelta(seconds=s)) for t, s in zip(plain, seconds, strict=True)]
        stopped += any("Rewards" in (reason_of(trials[:n]) or "") for n in range(10, 15))
    assert stopped / 2000 <= 0.04
