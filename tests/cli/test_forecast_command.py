"""`pupilage forecast`: the chances of the goals, for people and for programs."""

import json
from datetime import timedelta

import pytest

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(run, actor, programme, new_session, now):
    """Train the first goal on six days and return its key."""
    goal = json.loads(run("programme", "show", "--json").output)["goals"][0]
    for days in range(6, 0, -1):
        outcomes = ["met"] * 7 + ["missed"]
        new_session(actor, programme, goal["behaviour"], goal["step"], outcomes, at=now - timedelta(days=days))
    return goal["behaviour"]


def test_trained_goal_has_three_chances_and_the_untrained_ones_have_none(run, trained):
    shown = run("forecast")
    assert shown.exit_code == 0
    assert "not enough yet" in shown.output
    goals = {goal["behaviour"]: goal for goal in json.loads(run("forecast", "--json").output)["goals"]}
    goal = goals.pop(trained)
    assert 0.0 <= goal["p_without_work"] <= goal["p_one_more_a_day"] <= 1.0
    assert goal["p_ready_low"] <= goal["p_ready"] <= goal["p_ready_high"]
    assert goal["ceiling"] == pytest.approx(0.9298, abs=5e-5)
    assert {goal["p_ready"] for goal in goals.values()} == {None}


def test_one_goal_is_told_with_what_is_left_without_practice(run, trained):
    shown = run("forecast", "--behaviour", trained)
    assert "without practice" in shown.output
    kept = json.loads(run("forecast", "--behaviour", trained, "--json").output)["goals"][0]["without_practice"]
    assert kept["days"] == [1, 3, 7, 14, 30, 90]
    assert kept["p"] == sorted(kept["p"], reverse=True)


def test_behaviour_that_is_no_goal_is_refused_in_a_sentence(run, trained):
    done = run("forecast", "--behaviour", "somersault")
    assert done.exit_code != 0
    assert "somersault" in done.output
    assert "Traceback" not in done.output
