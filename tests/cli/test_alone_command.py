"""`pupilage alone` and `pupilage bench alone`, for people and for programs."""

import csv
import io
import json
from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot
from pupilage.core.incidents.alone import Sign
from pupilage.core.simulation.left_alone import Rule, World
from pupilage.services.log_absence import log_absence, take_absence_back
from pupilage.storage.models import Absence


@pytest.fixture
def fresh(actor, programme, now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.alone.now", lambda: now)


@pytest.fixture
def logged(fresh, actor, dog, now):
    for n in range(8):
        signs = (SignAt(Sign.WHINING, 40.5), SignAt(Sign.DAMAGE)) if n == 3 else ()
        at = now - timedelta(days=4, hours=-9 * n)
        record = AbsenceRecord(str(uuid4()), at, 60.0, signs, Spot.PEN, had=(Had.CHEW,))
        log_absence(actor, dog, record, now=now)


def test_fresh_programme_begins_at_the_door(run, fresh):
    shown = run("alone").output
    assert "Next absence: 5 s." in shown
    assert "Out to the toilet first" in shown


def test_people_see_the_next_few_the_calm_time_and_the_days(run, logged):
    shown = run("alone").output
    for words in (
        "Next absence:",
        "While it stays calm:",
        "Nine in ten absences of",
        "stayed calm for 1 min",
        "2026-05-08",
    ):
        assert words in shown


def test_programs_get_the_same_in_json(run, logged):
    found = json.loads(run("alone", "--json").output)
    assert len(found["proposed"]) == 4
    assert (found["curve"]["n"], found["curve"]["n_signs"], found["curve"]["seconds"]) == (8, 1, [40.5])
    assert found["calm"]["n"] == 8
    assert found["panicked"] is False
    assert len(found["absences"]) == 8


def test_csv_holds_every_absence_the_oldest_first(run, logged):
    rows = list(csv.DictReader(io.StringIO(run("alone", "--csv").output)))
    assert len(rows) == 8
    assert rows[3]["signs"] == "whining@40.5 damage"
    assert (rows[0]["spot"], rows[0]["had"], rows[0]["watched"]) == ("pen", "chew", "camera")
    assert rows[0]["at"] < rows[-1]["at"]


def test_panic_is_answered_with_whom_to_ask(run, logged, actor, dog, now):
    panic = AbsenceRecord(str(uuid4()), now - timedelta(hours=1), 60.0, (SignAt(Sign.INJURY, 30.0),))
    log_absence(actor, dog, panic, now=now)
    shown = run("alone").output
    assert "Next absence: none." in shown
    assert "veterinary behaviourist" in shown
    assert "Somebody stays with it" in shown


def test_bench_measures_every_rule_on_every_kind_of_pup(run):
    done = run("bench", "alone", "--pups", "2", "--json")
    rows = json.loads(done.stdout)
    assert [(row["pups"], row["rule"]) for row in rows] == [(str(w), str(r)) for w in World for r in Rule]
    assert all("±" in row["absences with distress"] for row in rows)


def test_csv_that_was_written_comes_in_again_and_twice_adds_nothing(run, logged, actor, dog, now, tmp_path):
    file = tmp_path / "absences.csv"
    written = run("alone", "--csv").output
    file.write_text(written, encoding="utf-8")
    for absence in Absence.objects.all():
        take_absence_back(actor, absence.id, now=now)
    first, second = (run("alone", "--from", str(file), "--csv") for _ in range(2))
    assert "8 rows: 8 new, 0 known already." in first.stderr
    assert "8 rows: 0 new, 8 known already." in second.stderr
    assert first.stdout == written


def test_every_bad_row_of_a_csv_is_named_and_none_is_written(run, fresh, tmp_path):
    file = tmp_path / "absences.csv"
    rows = [
        "at,away_s,signs,spot,watched",
        "2026-05-10T09:00,60,,crate,camera",
        "yesterday,60,,,",
        "2026-05-10T10:00,a while,,,",
        "2026-05-10T11:00,60,sulking@3,attic,",
    ]
    file.write_text("\n".join(rows), encoding="utf-8")
    said = run("alone", "--from", str(file)).stderr
    assert all(f"row {number}: " in said for number in (3, 4, 5))
    assert "attic" in said
    assert not Absence.objects.exists()
    rows[2:] = ["2026-05-10T09:00:30,60,,,", "2026-05-10T12:00,60,whining@90,,"]
    file.write_text("\n".join(rows), encoding="utf-8")
    said = run("alone", "--from", str(file)).stderr
    assert "row 3: It overlaps" in said
    assert "row 4: “whining” after 90 s is not while you were away" in said
    assert not Absence.objects.exists()


def test_csv_without_its_columns_says_which(run, fresh, tmp_path):
    file = tmp_path / "absences.csv"
    file.write_text("when,away_s\n2026-05-10T09:00,60\n", encoding="utf-8")
    refused = run("alone", "--from", str(file))
    assert refused.exit_code != 0
    assert "There is no column “at”" in refused.stderr
