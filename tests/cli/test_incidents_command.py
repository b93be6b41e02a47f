"""`pupilage incidents`: what the record says, of one pup and of two dogs; the record as CSV."""

import csv
import json
from datetime import timedelta
from io import StringIO

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.incidents.between_dogs import Answered, Apart, BetweenDogs, Resource, Who
from pupilage.core.incidents.teeth import Teeth
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident

SEEN = BetweenDogs(
    Who.PUP, Resource.TOY, Apart.TOUCHING, Answered.GROWLED, Who.PERSON, teeth=Teeth.TOUCH, hurt=Who.RESIDENT
)


@pytest.fixture
def between(actor, dog, now):
    log_care(actor, dog, CareEntry(CareKind.MEAL, now - timedelta(minutes=50)), now=now)
    for minutes, detail in ((180, CareDetail.START), (30, CareDetail.END)):
        log_care(actor, dog, CareEntry(CareKind.RESIDENT, now - timedelta(minutes=minutes), detail), now=now)
    entry = IncidentEntry("rough-play-with-dog", now - timedelta(minutes=40), between=SEEN)
    return log_incident(actor, dog, entry, now=now)


def test_two_dogs_are_told_where_their_behaviour_is_chosen(run, between):
    told = json.loads(run("incidents", "--json").output)
    assert told["behaviour"] == "rough-play-with-dog"
    assert (told["two_dogs"]["n"], told["two_dogs"]["n_flares"]) == (1, 1)
    assert told["two_dogs"]["hours_calm"] == pytest.approx(2.5 - 1 / 6)
    assert told["two_dogs"]["resources"][0] | {"low": 0, "high": 0} == {
        "key": "toy", "n": 1, "of": 1, "low": 0, "high": 0,
    }  # fmt: skip
    shown = run("incidents").output
    assert "1 in 2.3 calm hours together" in shown
    assert "Feed them apart" in shown


def test_another_behaviour_says_nothing_of_two_dogs(run, actor, dog, now):
    log_incident(actor, dog, IncidentEntry("counter-stealing", now), now=now)
    told = json.loads(run("incidents", "--json").output)
    assert "two_dogs" not in told
    assert told["answers"]["worth"][0]["before"] in {"unwatched", "in-reach"}
    assert told["answers"]["leaving"]["n"] == 1


def test_csv_holds_what_the_log_knew_and_what_was_seen_between_the_dogs(run, between):
    (row,) = csv.DictReader(StringIO(run("incidents", "--csv").output))
    assert (row["meal_min"], row["waking_min"]) == ("10", "")
    assert (row["started"], row["resource"], row["dog_teeth"], row["hurt"]) == ("pup", "toy", "touch", "resident")
    assert row["in_charge"]
