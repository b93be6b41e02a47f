"""`pupilage programme plan`, for people and for programs."""

import json

import pytest

from pupilage.services.set_goals import set_goals
from pupilage.storage.models import AuditEntry, ProgrammePlan

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def fixed_clock(monkeypatch, now):
    monkeypatch.setattr("pupilage.cli.commands.programme_plan.now", lambda: now)


def test_fresh_stay_gets_a_plan_with_days_chances_and_a_proof(run, small):
    shown = run("programme", "plan")
    assert shown.exit_code == 0
    assert "what is usual" in shown.output
    assert "proven" in shown.output
    assert ProgrammePlan.objects.count() == 1
    plan = json.loads(run("programme", "plan", "--json").output)["plan"]
    assert plan["proof"]["gap"] <= 0.01
    assert len(plan["goals"]) == 3
    assert plan["days"][-1]["sessions"][0]["purpose"] == "probe"


def test_what_if_options_compare_and_write_nothing(run, small):
    shown = run("programme", "plan", "--sessions-a-day", "2", "--days-off", "2026-05-14")
    assert "Nothing is changed" in shown.output
    both = json.loads(run("programme", "plan", "--sessions-a-day", "2", "--json").output)
    assert {day["n_room"] for day in both["then"]["days"]} == {2}
    assert not ProgrammePlan.objects.exists()
    assert not AuditEntry.objects.filter(action="plan-programme").exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--handover", "soon"), "is not a day"),
        (("--days-off", "Sunday"), "are no days"),
        (("--sessions-a-day", "99"), "from 1 to 12"),
    ],
)
def test_bad_option_is_refused_in_a_sentence(run, small, options, said):
    shown = run("programme", "plan", *options)
    assert shown.exit_code == 2
    assert said in shown.output + shown.stderr


def test_stay_without_a_plan_ends_with_the_reason_and_a_code_of_its_own(run, actor, small, now):
    set_goals(actor, small, [], now=now)
    shown = run("programme", "plan")
    assert shown.exit_code == 5
    assert "There is nothing to plan" in shown.output
