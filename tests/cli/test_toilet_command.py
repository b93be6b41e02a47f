"""`pupilage toilet` and `pupilage bench toilet`, for people and for programs."""

import json
from datetime import timedelta

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.services.log_care import CareEntry, log_care

pytestmark = pytest.mark.django_db


@pytest.fixture
def fresh(actor, programme, now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.toilet.now", lambda: now)


@pytest.fixture
def logged(fresh, actor, dog, now):
    for day in range(1, 10):
        for hours in (0.0, 1.0, 2.5):
            entry = CareEntry(CareKind.OUTING, now - timedelta(days=day, hours=hours), CareDetail.WEE)
            log_care(actor, dog, entry, now=now)


def test_fresh_programme_says_that_nothing_is_known(run, fresh):
    shown = run("toilet")
    assert shown.exit_code == 0
    assert "No outing logged yet" in shown.output
    assert "wee over\N{NO-BREAK SPACE}99\N{NO-BREAK SPACE}%" in shown.output


def test_people_see_the_next_outing_the_weeks_and_what_is_not_proved(run, logged):
    shown = run("toilet")
    assert shown.exit_code == 0
    for words in ("Next outing at", "between two outings", "does not prove", "week from", "safe awake", "outings read"):
        assert words in shown.output


def test_programs_get_the_same_in_json(run, logged):
    found = json.loads(run("toilet", "--json").output)
    assert found["risk"] == 0.05
    assert found["limits"]["awake_min"] % 5 == 0
    assert found["progress"]["dry_days"] == 9
    assert found["progress"]["most_a_day"] == pytest.approx(3.6889 / 9, abs=1e-4)
    assert {line["doing"] for line in found["curve"]} == {"awake", "resting", "night"}
    assert 0.0 < found["prior_share"]["wee"] <= 1.0


def test_bench_prints_every_figure_beside_its_goal(run, monkeypatch):
    from pupilage.core.simulation.outings import comparison, stay

    monkeypatch.setattr(stay, "N_DAYS", 7)
    monkeypatch.setattr(comparison, "N_DAYS", 7)
    monkeypatch.setattr(comparison, "OTHER_WORLDS", {})
    done = run("bench", "toilet", "--pups", "50", "--json")
    assert done.exit_code == 0
    rows = json.loads(done.stdout)
    by_what = {(row["what"], row["setting"]): row for row in rows}
    fewer = by_what["fewer than interval + event rules", "15 outings a day"]
    assert (fewer["target"], fewer["reached"], fewer["pups"]) == ("at least 0.15", True, 50)
    assert by_what["risk carried", "risk 5%"]["value"] == pytest.approx(0.05, abs=0.02)


def test_few_pups_are_too_few(run):
    done = run("bench", "toilet", "--pups", "3")
    assert done.exit_code == 2
    assert "3 pups cannot be compared; give 50 to 20000." in done.stderr
