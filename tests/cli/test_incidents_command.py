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


def test_misspelt_behaviour_is_refused_and_no_rate_is_stated_for_it(run, between):
    result = run("incidents", "--behaviour", "counter-staeling")
    assert result.exit_code == 3
    assert "There is no such unwanted behaviour" in result.stderr
    assert "in ten free hours" not in result.output


def test_csv_holds_what_the_log_knew_and_what_was_seen_between_the_dogs(run, between):
    (row,) = csv.DictReader(StringIO(run("incidents", "--csv").output))
    assert (row["meal_min"], row["waking_min"]) == ("10", "")
    assert (row["started"], row["resource"], row["dog_teeth"], row["hurt"]) == ("pup", "toy", "touch", "resident")
    assert row["in_charge"]


@pytest.fixture
def fresh(actor, programme, now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.incidents.now", lambda: now)


@pytest.fixture
def logged(fresh, actor, dog, now):
    """Nine thefts on three days awake for four hours, all in the first quarter of an hour after waking."""
    for day in range(1, 4):
        start = now.replace(hour=7, minute=0) - timedelta(days=day)
        for minutes, detail in ((0, CareDetail.END), (240, CareDetail.START)):
            log_care(actor, dog, CareEntry(CareKind.NAP, start + timedelta(minutes=minutes), detail), now=now)
        for minutes in (3, 6, 9):
            entry = IncidentEntry("counter-stealing", start + timedelta(minutes=minutes))
            log_incident(actor, dog, entry, now=now)


def test_fresh_programme_has_nothing_written_down(run, fresh):
    assert "no incident written down yet" in run("incidents").output


def test_people_see_what_they_have_in_common_and_when(run, logged):
    shown = run("incidents").output
    assert "9 of 9 came with the first line" in shown
    assert "Most often 0 to 15 minutes after waking" not in shown  # 45 minutes watched are too few for a rate
    assert "No bursts show: 6 of 9 came within a free hour of the one before, and chance gives 4.3." in shown


def test_programs_get_days_times_and_bursts(run, logged):
    answers = json.loads(run("incidents", "--json").output)["answers"]
    assert [day["n"] for day in answers["days"]] == [3, 3, 3]
    assert [slot["n"] for slot in answers["since"]["waking"]["slots"]] == [9, 0, 0, 0, 0]
    assert not answers["bursts"]["is_called"]
    assert answers["bursts"]["n_soon"] == 6
