"""`pupilage handover` writes the file whole, `pupilage explain` traces a figure."""

import json

import pypdf
import pytest


@pytest.fixture
def fresh(actor, programme, now, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.handover.now", lambda: now)
    return programme


def test_pack_is_written_in_the_language_paper_and_unit_asked_for(run, fresh, tmp_path):
    file = tmp_path / "pack.pdf"
    shown = run("handover", file, "--language", "de", "--paper", "letter", "--large", "--unit", "lb").output
    assert "figures" in shown
    assert "LIX" in shown
    reader = pypdf.PdfReader(file)
    assert reader.trailer["/Root"]["/Lang"] == "de"
    assert float(reader.pages[0].mediabox.width) == pytest.approx(612, abs=0.1)
    assert "lb" in " ".join(page.extract_text() for page in reader.pages)
    assert list(tmp_path.iterdir()) == [file], "nothing half-written is left"


def test_file_that_cannot_be_written_is_refused_in_a_sentence(run, fresh, tmp_path):
    result = run("handover", tmp_path / "missing" / "pack.pdf")
    assert result.exit_code != 0
    assert "cannot be written" in result.output


def test_unknown_language_is_refused(run, fresh, tmp_path):
    assert run("handover", tmp_path / "pack.pdf", "--language", "xx").exit_code == 2


def test_figure_is_traced_by_name_and_by_number(run, fresh, tmp_path):
    run("handover", tmp_path / "pack.pdf")
    shown = run("explain", "food.day").output
    for words in (
        "food.day: 210 g",
        "query: storage.models.Dog(field='daily_food_g')",
        "value: 210.0",
        "last printed: 210",
    ):
        assert words in shown.replace("\N{NO-BREAK SPACE}", " ")
    told = json.loads(run("explain", "food.day", "--json").output)
    assert (told["name"], told["value"]) == ("food.day", 210.0)
    assert json.loads(run("explain", str(told["number"]), "--json").output)["name"] == "food.day"


def test_without_a_name_every_figure_is_listed(run, fresh):
    names = [one["name"] for one in json.loads(run("explain", "--json").output)]
    assert "week3.outing" in names
    assert len(names) == len(set(names)) > 20
    assert "week3.outing" in run("explain").output
