"""`pupilage agreement`: two files, or a session and a file, for people and for programs."""

import csv
import io
import json

import pytest

from pupilage.storage.models import CodingEntry

pytestmark = pytest.mark.django_db

ONE = "time_s,code\n5,met\n13,met\n0:21,missed\n30,met\n50,end\n"
OTHER = "time_s;code\n5,5;met\n14;missed\n28,5;met\n44;met\n60;end\n"


@pytest.fixture
def files(tmp_path):
    paths = [tmp_path / "wren.csv", tmp_path / "pia.csv"]
    for path, text in zip(paths, (ONE, OTHER), strict=True):
        path.write_text(text, encoding="utf-8")
    return paths


def test_text_lists_the_disagreements_and_the_lengths(run, files):
    shown = run("agreement", *files).output
    assert "wren and pia say the same of 2 of 5 moments: 40 %." in shown
    assert "2, at 0:13: wren says met, pia says missed." in shown
    assert "3, at 0:21: wren says missed; pia marked nothing there." in shown
    assert "wren watched for 0:50 and pia for 1:00: compared are the first 0:50." in shown


def test_json_has_every_figure(run, files):
    found = json.loads(run("agreement", *files, "--json").output)
    assert (found["n_same"], found["n_moments"], found["share"]) == (2, 5, 0.4)
    assert found["overall"]["counts"] == {"total": 1.0, "mean": 0.6, "exact": 0.6}
    assert found["overall"]["intervals"] == {"all": 0.6, "scored": 0.6, "unscored": 0.0}
    assert next(one["says"] for one in found["differing"]) == "2, at 0:13: wren says met, pia says missed."
    assert set(found["matched"]) >= {"kappa", "low", "high"}


def test_csv_has_every_moment(run, files):
    rows = list(csv.DictReader(io.StringIO(run("agreement", *files, "--csv").output)))
    assert [(row["one"], row["other"], row["same"]) for row in rows] == [
        ("met", "met", "1"), ("met", "missed", "0"), ("missed", "", "0"), ("met", "met", "1"), ("", "met", "0"),
    ]  # fmt: skip


def test_tolerance_and_shift_change_what_is_the_same_moment(run, files):
    wide = json.loads(run("agreement", *files, "--tolerance-s", "0.6", "--json").output)
    assert (wide["n_same"], wide["terms"]["tolerance_s"]) == (1, 0.6)
    moved = json.loads(run("agreement", *files, "--shift-s", "30", "--json").output)
    assert moved["terms"]["shift_s"] == 30.0
    assert [one["time_s"] for one in moved["outside"]]


def test_session_is_compared_with_a_file_that_is_kept_when_asked(run, tmp_path, actor, programme, new_session):
    from pupilage.storage.catalogue_files import load_catalogue

    step = load_catalogue().behaviours["sit"].steps[0].key
    session = new_session(actor, programme, "sit", step, ["met", "missed", "met"])
    path = tmp_path / "pia.csv"
    path.write_text("time_s,outcome\n8,met\n16,met\n24,met\n", encoding="utf-8")
    assert run("agreement", "--session", session).exit_code == 7
    found = json.loads(run("agreement", path, "--session", session, "--json").output)
    assert (found["one"], found["other"], found["n_same"]) == ("The log", "pia", 2)
    assert not CodingEntry.objects.exists()
    run("agreement", path, "--session", session, "--keep-as", "Pia")
    assert CodingEntry.objects.count() == 3
    kept = json.loads(run("agreement", "--session", session, "--json").output)
    assert (kept["other"], kept["n_same"]) == ("Pia", 2)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "Give two files"),
        (["{one}"], "Give two files"),
        (["{one}", "{one}", "--keep-as", "Pia"], "Only a file's coding of a session can be kept"),
        (["{one}", "{bad}"], "needs the columns time_s and code"),
        (["{one}", "{one}", "--interval-s", "0"], "0 s is no interval"),
    ],
)
def test_what_cannot_be_compared_is_said(run, files, tmp_path, arguments, words):
    bad = tmp_path / "bad.csv"
    bad.write_text("when,what\n1,met\n", encoding="utf-8")
    shown = run("agreement", *(one.format(one=files[0], bad=bad) for one in arguments))
    assert shown.exit_code == 2
    assert words in shown.output
