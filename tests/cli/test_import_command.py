"""`pupilage import trials`."""

import json

from pupilage.storage.models import Trial

HEADER = "date,time,behaviour,step,outcome\n"


def test_a_sheet_is_imported_once(run, programme, tmp_path):
    file = tmp_path / "trials.csv"
    file.write_text(HEADER + "2026-05-04,9:00,sit,word,met\n2026-05-04,9:00,sit,word,x\n", encoding="utf-8")
    first = run("import", "trials", file)
    assert first.exit_code == 0, first.output
    assert "Added 2 trials in 1 sessions." in first.output
    again = json.loads(run("import", "trials", file, "--json").output)
    assert (again["n_added"], again["n_known"]) == (0, 2)
    assert Trial.objects.count() == 2


def test_bad_rows_are_named_and_end_with_exit_code_2(run, programme, tmp_path):
    file = tmp_path / "trials.csv"
    file.write_text(HEADER + "2026-05-04,9:00,sit,word,met\n2026-05-04,9:00,fly,word,x\n", encoding="utf-8")
    refused = run("import", "trials", file)
    assert refused.exit_code == 2
    assert "row 3, behaviour: “fly” is not in the catalogue" in refused.output
    assert not Trial.objects.exists()
    skipped = run("import", "trials", file, "--skip-bad")
    assert skipped.exit_code == 0
    assert "Left out: row 3" in skipped.output


def test_headers_and_the_order_of_days_can_be_said(run, programme, tmp_path):
    file = tmp_path / "trials.csv"
    file.write_text("Day;Trick;step;Result\n5/6/2026;sit;word;y\n", encoding="utf-8")
    named = ("--column", "behaviour=Trick", "--column", "Outcome=Result", "--programme", str(programme))
    assert run("import", "trials", file, *named).exit_code == 2
    done = run("import", "trials", file, *named, "--date-order", "mdy")
    assert done.exit_code == 0, done.output


def test_what_is_no_column_or_no_file_is_said(run, programme, tmp_path):
    file = tmp_path / "trials.csv"
    file.write_text(HEADER, encoding="utf-8")
    assert "names no header" in run("import", "trials", file, "--column", "outcome").output
    missing = run("import", "trials", tmp_path / "none.csv")
    assert missing.exit_code == 6
    assert "none.csv; check the name." in missing.output
    folder = run("import", "trials", tmp_path)
    assert folder.exit_code == 6
    assert "is a folder" in folder.output


def test_an_export_goes_to_a_file_once_or_to_the_standard_output(run, programme, tmp_path):
    file = tmp_path / "all.json"
    assert run("export", file).exit_code == 0
    assert json.loads(file.read_text(encoding="utf-8"))["format"] == "pupilage-export"
    again = run("export", file)
    assert again.exit_code == 5
    assert "exists already" in again.output
    assert json.loads(run("export", "-").output)["tables"]["Programme"][0]["id"] == str(programme)


def test_a_stays_tries_go_out_as_a_sheet_with_place_and_handler(run, actor, programme, new_session, tmp_path):
    session = new_session(actor, programme, "sit", "word", ["met", "missed"], place="Old mill", handler="Ida")
    file = tmp_path / "tries.csv"
    done = run("session", "sheet", file)
    assert done.exit_code == 0, done.output
    assert f"Wrote 2 tries to {file}." in done.output
    assert "Old mill,Ida" in file.read_text(encoding="utf-8-sig")
    assert run("session", "sheet", file).exit_code == 5
    assert run("session", "sheet", "-").output.startswith("date,time,behaviour")
    assert "Added 0 trials" in run("import", "trials", file).output
    shown = run("session", "show", session).output
    assert "Where: Old mill" in shown
    assert "Who worked with the dog: Ida" in shown
