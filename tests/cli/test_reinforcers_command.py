"""`pupilage reinforcers`: the same comparison as on the pup's page, for people and for programs."""

import json
from datetime import timedelta

import pytest

from pupilage.storage.catalogue_files import load_catalogue

pytestmark = pytest.mark.django_db


@pytest.fixture
def trained(actor, programme, new_session, now):
    step = load_catalogue().behaviours["sit"].steps[0].key
    for days in range(5, 0, -1):
        new_session(actor, programme, "sit", step, ["met"] * 7 + ["missed"], at=now - timedelta(days=days))


def test_record_without_tries_has_not_enough_yet(run, programme):
    shown = run("reinforcers")
    assert shown.exit_code == 0
    assert "Not enough yet" in shown.output
    assert json.loads(run("reinforcers", "--json").output)["reinforcers"] == []


def test_reinforcer_used_alone_is_counted_and_not_judged(run, trained):
    assert "the only one so far" in run("reinforcers").output
    found = json.loads(run("reinforcers", "--json").output)
    assert found["usual"] == "dry food"
    whole = next(one for one in found["reinforcers"] if one["band"] is None)
    assert (whole["n"], whole["n_sessions"], whole["enough"], whole["p_better"]) == (40, 5, True, None)
    assert whole["seen"] == pytest.approx(35 / 40)
    assert whole["low"] < whole["logits"] < whole["high"]


def test_stay_that_does_not_exist_is_refused_in_a_sentence(run, trained):
    done = run("reinforcers", "00000000-0000-4000-8000-000000000000")
    assert done.exit_code != 0
    assert "Traceback" not in done.output
