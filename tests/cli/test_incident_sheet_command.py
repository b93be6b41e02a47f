"""`pupilage incidents`: the plans beside the record, and a sheet out and in."""

import json
from datetime import date, timedelta

import pytest

from pupilage.cli.failing import EXIT_CODES
from pupilage.core.care.events import CareKind
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.save_change_plan import ChangePlanEntry, save_change_plan
from pupilage.storage.models import Incident

pytestmark = pytest.mark.django_db
KEY = "counter-stealing"


@pytest.fixture
def at_now(now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.incidents.now", lambda: now)


@pytest.fixture
def written(actor, dog, now, at_now):
    """Nine days of eight hours; three incidents a day, none since the plan of the sixth day."""
    for ago in range(9, 0, -1):
        morning = now - timedelta(days=ago)
        for hours in (0, 8):
            log_care(actor, dog, CareEntry(CareKind.MEAL, morning + timedelta(hours=hours)), now=now)
        for k in range(3 if ago > 4 else 0):
            log_incident(actor, dog, IncidentEntry(KEY, morning + timedelta(hours=k + 1)), now=now)
    save_change_plan(actor, dog, ChangePlanEntry(KEY, date(2026, 5, 8), arrange=("gate",)), now=now)


def test_plan_is_said_with_its_phases_and_effect_sizes(run, programme, written):
    shown = run("incidents", "--plan")
    assert shown.exit_code == 0
    assert "Rarer with the plan: 3.8 before, 0.0 now in ten free hours" in shown.output
    assert "before any plan" in shown.output
    assert "never read it alone" in shown.output
    assert run("incidents", "--plan", "--behaviour", "digging").output.startswith("digging:\n  No plan yet.")


def test_plan_as_json_holds_figures_and_no_infinity(run, programme, written):
    found = json.loads(run("incidents", "--plan", "--json").output, parse_constant=pytest.fail)[KEY]
    assert found["comparison"]["ratio"]["value"] == 0.0
    assert [phase["n"] for phase in found["phases"]] == [15, 0]
    assert found["start_that_fits"] == "2026-05-08"


def test_without_a_plan_it_says_so(run, programme, at_now):
    assert "No plan against an unwanted behaviour yet" in run("incidents", "--plan").output


def test_sheet_out_and_in_again_adds_nothing(run, programme, written, tmp_path):
    file = tmp_path / "incidents.csv"
    file.write_text(run("incidents", "--csv").output, encoding="utf-8", newline="")
    shown = run("incidents", "--from", file)
    assert "Read 15 rows" in shown.output
    assert "Incidents added: 0." in shown.output
    assert "left as they are: 15." in shown.output


def test_sheet_comes_in(run, programme, at_now, tmp_path):
    file = tmp_path / "incidents.csv"
    file.write_text("at,behaviour\n2026-05-10 08:15,digging\n", encoding="utf-8")
    assert json.loads(run("incidents", "--from", file, "--json").output)["n_added"] == 1
    assert Incident.objects.get().behaviour == "digging"


def test_two_things_at_a_time_are_refused(run, programme, at_now):
    refused = run("incidents", "--plan", "--csv")
    assert refused.exit_code == EXIT_CODES["invalid"]
    assert "Give one of --plan, --csv and --from at a time." in refused.output
