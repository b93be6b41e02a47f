"""`pupilage threshold`: how long, how far, how distracting and where, for people and for programs."""

import json
from datetime import timedelta

import pytest

pytestmark = pytest.mark.django_db

OUTCOMES = ["met"] * 7 + ["missed"]


@pytest.fixture
def trained(actor, programme, new_session, now, monkeypatch):
    """Train a stay at three steps on six days, come to the command on the day after, and return its key."""
    monkeypatch.setattr("pupilage.cli.commands.threshold.now", lambda: now)
    for days, step in zip(range(6, 0, -1), ("first-instant", "one-second", "five-seconds") * 2, strict=True):
        new_session(actor, programme, "stay", step, OUTCOMES, at=now - timedelta(days=days))
    return "stay"


def test_people_see_a_line_for_each_dimension_and_the_next_try(run, trained):
    shown = run("threshold", "--behaviour", trained, "--step", "five-seconds")
    assert shown.exit_code == 0
    for words in ("duration", "distance", "distraction", "place", "90 % interval", "Next try", "household level"):
        assert words in shown.output
    assert "Read from tries at 3 values." in shown.output
    assert "assumption" in shown.output


def test_programs_get_the_same_in_json(run, trained):
    found = json.loads(run("threshold", "--behaviour", trained, "--step", "five-seconds", "--json").output)
    assert (found["step"], found["target"], found["n_trials"], found["enough"]) == (
        "five-seconds",
        "half-minute",
        48,
        True,
    )
    duration, distance, distraction, place = found["dimensions"]
    assert duration["tried"] == [0.3, 1.0, 5.0]
    assert (duration["from_record"], distance["from_record"]) == (True, False)
    assert distraction["dimension"] == "distraction"
    assert duration["met_8_in_10"]["low"] <= duration["met_8_in_10"]["value"] <= duration["met_8_in_10"]["high"]
    assert place["at_step"] == "quiet-room"
    assert found["p_household"]["low"] <= found["p_household"]["p"] <= found["p_household"]["high"]
    assert found["household_once_trained_to"][-1]["p"] == pytest.approx(0.85)
    assert 0.55 <= found["next_try"]["p_met"]["p"] <= 0.95


def test_without_enough_tries_the_command_says_what_is_missing(run, programme):
    shown = run("threshold", "--behaviour", "stay")
    assert shown.exit_code == 0
    assert "Not enough yet: has 0 of 5 tries." in shown.output
    found = json.loads(run("threshold", "--behaviour", "stay", "--json").output)
    assert (found["enough"], found["dimensions"], found["next_try"], found["p_met"]) == (False, [], None, None)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (("--behaviour", "somersault"), "pupilage catalogue"),
        (("--behaviour", "stay", "--step", "gone"), "its steps are"),
        ((), "--behaviour"),
    ],
)
def test_errors_say_what_to_do(run, trained, given, words):
    done = run("threshold", *given)
    assert done.exit_code != 0
    assert words in done.output
    assert "Traceback" not in done.output
