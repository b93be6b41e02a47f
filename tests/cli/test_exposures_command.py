"""`pupilage exposures`: the same list as on the page, for people and for programs."""

import json
from datetime import timedelta

import pytest

from pupilage.core.care.exposures.log import Response
from pupilage.services.log_exposure import ExposureEntry, log_exposure

pytestmark = pytest.mark.django_db


@pytest.fixture
def written(actor, dog, now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.exposures.now", lambda: now)
    for key, response, recovery_s in (("grass", Response.CALM, None), ("umbrella", Response.AFRAID, 90.0)):
        entry = ExposureEntry(key, now - timedelta(days=1), 2, response, recovery_s=recovery_s)
        log_exposure(actor, dog, entry, now=now)


def test_text_says_what_is_left_of_the_period_and_who_decides(run, programme, written):
    shown = run("exposures")
    assert shown.exit_code == 0
    assert "begin to close in 8 days" in shown.output
    assert "for its veterinarian to say" in shown.output
    assert "2026-05-14" in shown.output  # the umbrella: three days after great fear


def test_json_holds_today_the_list_and_the_dated_list(run, programme, written):
    found = json.loads(run("exposures", "--json").output)
    items = {one["item"]: one for one in found["items"]}
    assert len(items) == 60
    assert (items["grass"]["state"], items["grass"]["n_well"]) == ("met-well", 1)
    assert (items["umbrella"]["state"], items["umbrella"]["held_until"]) == ("held-back", "2026-05-14")
    assert 0 < len(found["today"]) <= 5
    assert all(one["reason"] for one in found["today"])
    assert "umbrella" not in {one["item"] for one in found["today"]}
    assert all(one["on"] >= "2026-05-14" for one in found["days"] if one["item"] == "umbrella")
    assert {one["item"] for one in found["days"]} | {one["item"] for one in found["without_a_day"]} == set(items)
    assert found["days_left"] == 22


def test_stay_that_does_not_exist_is_refused_in_a_sentence(run, programme):
    done = run("exposures", "00000000-0000-4000-8000-000000000000")
    assert done.exit_code != 0
    assert "Traceback" not in done.output
