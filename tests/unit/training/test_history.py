"""A dog's trials read as a history."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine_cases import MAT, WAIT, day, hold_trials, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.record.history import (
    live_session,
    require_history,
    require_step,
    run_at,
)


def test_unknown_step_is_refused_with_the_steps_that_exist():
    with pytest.raises(InvalidInput, match="“z” is no step of wait-at-door; its steps are a, b, c, d"):
        require_step(WAIT, "z")


def test_trials_come_back_in_time_order():
    trials = series("mxmh")
    assert require_history(WAIT, trials[::-1]) == trials


def test_all_problems_of_a_history_are_reported_at_once():
    good = series("mmmm")
    trials = [
        replace(good[0], behaviour="sit"),
        replace(good[1], at=good[1].at.replace(tzinfo=None)),
        replace(good[2], latency_s=float("nan")),
        replace(good[3], latency_s=-1.0),
    ]
    with pytest.raises(InvalidInput) as raised:
        require_history(WAIT, trials)
    text = str(raised.value)
    assert len(raised.value.problems) == 4
    assert "of sit, not of wait-at-door" in text
    assert "no time zone" in text
    assert "nan s" in text


def test_hold_without_a_possible_time_is_refused():
    with pytest.raises(InvalidInput, match="inf s"):
        require_history(MAT, hold_trials((float("inf"), 5.0, False)))


def test_run_begins_where_practice_last_came_to_the_step():
    trials = [*series("mmm", step="b"), *series("x", step="a", start=day(1)), *series("mh", step="b", start=day(2))]
    assert run_at("b", trials) == trials[-2:]
    assert run_at("a", trials) == []


def test_run_leaves_probes_out_without_breaking():
    probe = series("x", step="c", start=day(1), kind=SessionKind.PROBE)
    trials = [*series("mm"), *probe, *series("m", start=day(2))]
    assert [trial.kind for trial in run_at("a", trials)] == [SessionKind.TRAINING] * 3


def test_live_session_is_that_session_s_training_only():
    mine = series("mv", session="now", start=day(1))
    probe = series("m", session="now", start=day(1) + timedelta(minutes=2), kind=SessionKind.PROBE)
    assert live_session([*series("mm"), *mine, *probe], "now") == mine
    assert live_session(series("mm"), None) == []
