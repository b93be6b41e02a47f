"""The commands that read: text for people, JSON for programs."""

import json
from uuid import uuid4

import pytest


def test_a_programme_is_shown_with_its_goals(run, programme, new_session, actor):
    new_session(actor, programme, "sit", "word", ["met", "missed"])
    shown = run("programme", "show")
    assert shown.exit_code == 0
    assert "Tansy" in shown.output
    told = json.loads(run("programme", "show", str(programme), "--json").output)
    assert told["programme"]["id"] == str(programme)
    assert told["programme"]["arrival_on"] == "2026-05-02"
    assert len(told["goals"]) == 6
    assert {"behaviour", "step", "target", "decision", "reason", "p_ready"} <= set(told["goals"][0])
    assert [session["n_trials"] for session in told["sessions"]] == [2]


def test_a_session_is_shown_with_its_trials(run, programme, new_session, actor):
    session = new_session(actor, programme, "sit", "word", ["met", "helped", "missed"])
    shown = run("session", "show", "last")
    assert shown.exit_code == 0
    assert "1 met, 1 missed, 1 helped" in shown.output
    told = json.loads(run("session", "show", str(session), "--json").output)
    assert [trial["outcome"] for trial in told["record"]["trials"]] == ["met", "helped", "missed"]
    assert told["log"][0]["event"]["kind"] == "session-started"


def test_the_catalogue_is_listed_and_one_entry_is_shown(run):
    told = json.loads(run("catalogue", "--json").output)
    assert len(told["behaviours"]) >= 18
    assert len(told["unwanted"]) >= 10
    assert "garden-visitor" in run("catalogue", "sit").output
    assert json.loads(run("catalogue", "sit", "--json").output)["key"] == "sit"
    unwanted = next(iter(told["unwanted"]))
    assert run("catalogue", unwanted).exit_code == 0
    assert run("catalogue").exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "code", "sentence"),
    [
        (["programme", "show"], 3, "There is no programme yet"),
        (["programme", "show", str(uuid4())], 3, "There is no such programme"),
        (["session", "show", "last"], 3, "There is no session yet"),
        (["session", "show", str(uuid4())], 3, "There is no such session"),
        (["session", "show", "first"], 2, "“first” is no session's id"),
        (["catalogue", "fly"], 3, "not in the catalogue"),
        (["--workspace", "barn", "programme", "show"], 3, "no workspace “barn”"),
    ],
)
def test_what_is_not_there_is_said_in_a_sentence(run, actor, arguments, code, sentence):
    done = run(*arguments)
    assert done.exit_code == code
    assert sentence in done.output
    assert "Traceback" not in done.output


def test_another_workspace_is_not_read(run, actor, stranger, new_programme):
    theirs = new_programme(stranger)
    done = run("--workspace", "wren yard", "programme", "show", str(theirs))
    assert done.exit_code == 3


def test_several_workspaces_need_a_choice(run, actor, stranger):
    done = run("programme", "show")
    assert done.exit_code == 5
    assert "--workspace" in done.output


def test_the_doctor_answers_in_json(run, db):
    told = json.loads(run("doctor", "--json").output)
    assert {check["name"] for check in told} >= {"folder", "clock", "catalogue"}
    assert {check["result"] for check in told} <= {"fine", "look", "repair"}
