"""Reinforcers per minute and latencies."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from engine_cases import START, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.pace import (
    food_counted,
    median_latency_s,
    rate_within,
    reinforcement_per_min,
    was_reinforced,
)


def test_rate_counts_paid_trials_by_the_minute():
    assert reinforcement_per_min(series("mmxhv"), START, START + timedelta(seconds=30)) == pytest.approx(6.0)


def test_rate_is_not_given_under_twenty_seconds():
    trials = series("mm")
    assert reinforcement_per_min(trials, START, START + timedelta(seconds=19)) is None
    assert reinforcement_per_min(trials, START, START - timedelta(seconds=1)) is None
    assert reinforcement_per_min(trials, START, START + timedelta(seconds=20)) == pytest.approx(6.0)


def test_session_without_a_reinforcer_has_rate_nought_not_none():
    assert reinforcement_per_min(series("xx"), START, START + timedelta(minutes=1)) == 0.0


def test_instant_without_a_zone_is_refused():
    with pytest.raises(InvalidInput, match="started_at"):
        reinforcement_per_min([], datetime(2031, 5, 4), START)  # noqa: DTZ001


def test_pieces_given_for_a_missed_trial_make_it_paid():
    missed = series("x")[0]
    assert not was_reinforced(missed)
    assert was_reinforced(replace(missed, pieces=1))


def test_rate_within_takes_the_first_trial_as_the_start_of_the_clock():
    assert rate_within(series("mmmmm", every_s=6.0)) == pytest.approx(10.0)
    assert rate_within(series("m")) is None
    assert rate_within([]) is None


def test_median_latency_passes_over_trials_without_one():
    assert median_latency_s(series("mmmm", latencies_s=[1.0, None, 3.0, 1.5])) == 1.5
    assert median_latency_s(series("mm")) is None


def test_praise_alone_is_no_food_where_pieces_were_counted():
    trials = [replace(trial, pieces=n) for trial, n in zip(series("mmmx"), (1, 0, 2, 0), strict=True)]
    assert food_counted(trials) == [trials[0], trials[2]]
    assert food_counted(series("mmx")) == series("mmx")
