"""`pupilage incidents`, for people and for programs."""

import json
from datetime import timedelta

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident

pytestmark = pytest.mark.django_db


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
