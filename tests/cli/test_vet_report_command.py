"""`pupilage vet-report` writes the file and its figures; `pupilage review` says what is not enough yet."""

import json

import pypdf
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.services.log_weight import log_weight


@pytest.fixture
def fresh(actor, programme, dog, now, monkeypatch):
    for name in ("vet_report", "own_review"):
        monkeypatch.setattr(f"pupilage.cli.commands.{name}.now", lambda: now)
    log_weight(actor, dog, 5.0, at=now, now=now)
    return dog


def test_file_holds_the_figures_that_json_tells(run, fresh, tmp_path):
    file = tmp_path / "record.pdf"
    result = run("vet-report", file, "--unit", "lb", "--paper", "letter", "--json")
    told = json.loads(result.stdout)
    reader = pypdf.PdfReader(file)
    text = " ".join(page.extract_text() for page in reader.pages)
    assert told["figures"]["weighings"] == 2
    assert told["figures"]["weighing.2.kg"] == 5.0
    assert "11.0\N{NO-BREAK SPACE}lb" in text or "11.0 lb" in text
    assert float(reader.pages[0].mediabox.width) == pytest.approx(612, abs=0.1)


def test_figures_alone_need_no_file(run, fresh):
    told = json.loads(run("vet-report", "--json", "--leave-out", "weight").stdout)
    assert told["left_out"] == ["weight"]
    assert "weighings" not in told["figures"]


def test_neither_file_nor_json_and_a_period_that_runs_backwards_are_refused(run, fresh, tmp_path):
    assert "Say where the report goes" in run("vet-report").output
    result = run("vet-report", tmp_path / "r.pdf", "--from", "2026-05-30", "--until", "2026-05-01")
    assert result.exit_code != 0
    assert "before it begins" in result.output
    assert list(tmp_path.iterdir()) == []


def test_review_says_what_is_missing(run, fresh):
    shown = run("review").output
    assert "Not enough yet for a score: needs 20 forecasts of 5 stays." in shown
    told = json.loads(run("review", "--json").stdout)
    assert (told["n_stays"], told["scores"]) == (0, None)
    assert told["slips"]["repeated_cues"] is None


def test_period_of_more_than_two_years_is_refused():
    from datetime import date

    from pupilage.core.vet_report.facts import Period

    with pytest.raises(InvalidInput, match="731 days"):
        Period(date(2020, 1, 1), date(2026, 1, 1))
