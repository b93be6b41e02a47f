"""`pupilage families`: the same list as the page of who needs a call, for people and for programs."""

import json
from datetime import timedelta

import pytest

from pupilage.cli.commands import families as command
from pupilage.core.handover.family_log import EntryKind
from pupilage.services.log_family_entry import FamilyTap, log_told_entry
from pupilage.storage.catalogue_files import load_catalogue

pytestmark = pytest.mark.django_db

WORD = next(iter(load_catalogue().behaviours.values()))
LATER = timedelta(days=20)
"""From the tests' moment to eight days after the hand-over."""


@pytest.fixture
def over(actor, programme, new_session, now, monkeypatch):
    """A stay that is over, with a word that worked; the command line reads a clock eight days after."""
    new_session(actor, programme, WORD.key, WORD.steps[0].key, ["met"] * 19 + ["missed"])
    monkeypatch.setattr(command, "now", lambda: now + LATER)
    return programme


def test_no_family_is_said(run, programme):
    assert "No pup was handed over in the last ten weeks." in run("families").output
    assert json.loads(run("families", "--json").output) == []


def test_family_that_needs_no_call_stands_with_its_next_follow_up(run, over):
    shown = run("families").output
    assert "No reason to call." in shown
    assert "Next follow-up: week 1, Sat 30 May, due now." in shown
    assert "nothing told" in shown


def test_a_weak_word_is_named_with_its_forecast_and_the_call(run, actor, over, now):
    log_told_entry(actor, over, FamilyTap(EntryKind.CUE, now + LATER, WORD.key, n_met=0, n=20), now=now + LATER)
    shown = run("families").output
    assert f"Call: {WORD.name}: 0 of 20 worked" in shown
    assert "0 of 20" in shown
    (found,) = json.loads(run("families", "--json").output)
    assert found["needs_a_call"]
    assert [why["reason"] for why in found["whys"]] == ["fallen"]
    assert (found["total"]["n_met"], found["total"]["n"]) == (0, 20)
    assert found["kept"][0]["expected"] == pytest.approx(found["total"]["expected"])
    assert found["kept"][0]["behaviour"] == WORD.key
