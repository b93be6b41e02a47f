"""The report to a veterinarian read by two other libraries: the figures of the page stand in the file.

Structure: ISO 19005-2:2011 (PDF/A-2), clauses 6.6.4 and 6.7 (identification, tagged; from memory). Rates: Garwood
(1936), Biometrika 28, 437-442: exact limits, here by SciPy's chi-squared quantiles.
"""

import io
import re
from datetime import timedelta
from uuid import uuid4

import pikepdf
import pypdf
import pytest
from scipy.stats import chi2

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.care.exposures.log import Response
from pupilage.core.incidents.absences import AbsenceRecord, SignAt
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.record import Before
from pupilage.core.units import WeightUnit
from pupilage.core.vet_report.facts import Part
from pupilage.reports.pack.options import Language, PackOptions, Paper
from pupilage.reports.pack.tongue import Tongue
from pupilage.reports.pack.writer import texts_of
from pupilage.services.gather_vet_report import usual_period
from pupilage.services.log_absence import log_absence
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_exposure import ExposureEntry, log_exposure
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.log_weight import log_weight
from pupilage.services.make_vet_report import make_vet_report

WORDS = " ".join(f"word{n}" for n in range(5000))
NAMES = ("لولو", "小虎", "Wren 🐕 Ida")


def flat(text):
    return re.sub(r"\s+", "", text)


def read(made):
    return flat("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made.pdf)).pages))


@pytest.fixture
def filled(actor, dog, now):
    """Three days of entries: watched time from 8:00 to 18:00 less a nap of two hours, four incidents, one at night."""
    for back in (3, 2, 1):
        morning = now.replace(hour=8, minute=0, second=0, microsecond=0) - timedelta(days=back)
        for hour, kind, detail in (
            (0, CareKind.OUTING, CareDetail.BOTH),
            (2, CareKind.NAP, CareDetail.START),
            (4, CareKind.NAP, CareDetail.END),
            (5, CareKind.INDOORS, CareDetail.WEE),
            (6, CareKind.MEAL, CareDetail.PLAIN),
            (10, CareKind.OUTING, CareDetail.NOTHING),
        ):
            grams = 70.0 if kind is CareKind.MEAL else None
            log_care(actor, dog, CareEntry(kind, morning + timedelta(hours=hour), detail, grams), now=now)
        entry = IncidentEntry(
            "mouthing-hands", morning + timedelta(hours=1), before=(Before.CHILD,), antecedent="Ran past"
        )
        log_incident(actor, dog, entry, now=now)
    night = now.replace(hour=2, minute=0, second=0, microsecond=0)
    log_incident(actor, dog, IncidentEntry("mouthing-hands", night, note="At night", in_charge="Ida"), now=now)
    log_weight(actor, dog, 5.0, at=now - timedelta(hours=1), now=now)
    log_absence(
        actor, dog, AbsenceRecord(str(uuid4()), now - timedelta(hours=3), 600.0, (SignAt(Sign.BARKING, 90.0),)), now=now
    )
    log_exposure(actor, dog, ExposureEntry("vacuum-cleaner", now, 2, Response.WORRIED, 3.0, 60.0), now=now)
    return dog


def report(actor, dog, now, left_out=frozenset(), **options):
    period = usual_period(actor, dog, now=now)
    return make_vet_report(actor, dog, period, PackOptions(**options), left_out=left_out, now=now)


@pytest.mark.parametrize("language", Language)
@pytest.mark.parametrize("paper", Paper)
def test_every_text_of_the_page_stands_in_the_file(actor, filled, now, language, paper):
    made = report(actor, filled, now, language=language, paper=paper, unit=WeightUnit.LB)
    found = read(made)
    assert [text for text in texts_of(made.contents.sections) if flat(text) not in found] == []
    assert "11.0lb" in found or "11,0lb" in found


def test_german_record_asks_for_no_text_that_has_no_german(actor, filled, now, monkeypatch):
    asked = {}

    def text(self, english):
        asked[english] = self.words.get(english)
        return self.words.get(english) or english

    monkeypatch.setattr(Tongue, "text", text)
    found = read(report(actor, filled, now, language=Language.DE))
    assert len(asked) > 60
    assert [english for english, german in asked.items() if not german] == []
    for german in (
        "Ein Staubsauger",
        "Nimmt Hände und Kleider ins Maul",
        "Zähne berühren die Haut",
        "bellt nach 1 min 30 s",
    ):
        assert flat(german) in found


def test_row_with_a_long_note_is_told_whole(actor, filled, now):
    """The row may break over a page, whose foot then stands between two words."""
    told = [f"a{n}b" for n in range(180)]
    entry = IncidentEntry("mouthing-hands", now - timedelta(hours=2), note=" ".join(told))
    log_incident(actor, filled, entry, now=now)
    found = read(report(actor, filled, now))
    assert [word for word in told if word not in found] == []


def test_counts_are_those_that_were_written_down(actor, filled, now):
    figures = report(actor, filled, now).contents.figures
    assert figures["incidents.1.happened"] == 4
    assert figures["incidents.1.outside"] == 1
    assert figures["toilet.outings"] == 6
    assert (figures["toilet.wee"], figures["toilet.poo"], figures["toilet.nothing"]) == (3, 3, 3)
    assert (figures["toilet.indoors"], figures["toilet.indoors-wee"], figures["toilet.indoors-poo"]) == (3, 3, 0)
    assert (figures["meals"], figures["meals.eaten-g"]) == (3, 210)
    assert (figures["alone.absences"], figures["alone.with-sign"]) == (1, 1)
    assert figures["met.A vacuum cleaner.worried"] == 1


def test_rate_has_garwoods_limits_for_its_watched_hours(actor, filled, now):
    figures = report(actor, filled, now).contents.figures
    hours = 3 * (10 - 2)
    assert figures["incidents.1.hours"] == hours
    assert figures["incidents.1.per-10-h"] == round(10 * 3 / hours, 2)
    assert figures["incidents.1.per-10-h.low"] == pytest.approx(10 * chi2.ppf(0.025, 6) / 2 / hours, abs=0.006)
    assert figures["incidents.1.per-10-h.high"] == pytest.approx(10 * chi2.ppf(0.975, 8) / 2 / hours, abs=0.006)


def test_file_is_tagged_pdf_a_in_its_language(actor, filled, now):
    with pikepdf.open(io.BytesIO(report(actor, filled, now, language=Language.DE).pdf)) as pdf:
        meta = pdf.open_metadata()
        assert (meta["pdfaid:part"], meta["pdfaid:conformance"]) == ("2", "A")
        assert str(pdf.Root.Lang) == "de"
        assert pdf.Root.MarkInfo.Marked


def test_what_is_left_out_is_in_neither_and_the_report_says_so(actor, filled, now):
    made = report(actor, filled, now, left_out=frozenset({Part.NOTES, Part.PEOPLE, Part.TOILET}))
    found = read(made)
    assert "Atnight" not in found
    assert "Ida" not in found
    assert "Ranpast" not in found
    assert "Leftoutbythetrainer’schoice:toiletrecord,freenotes,whatpeopledid" in found
    assert not [key for key in made.contents.figures if key.startswith("toilet")]


def test_nothing_written_down_is_said_and_is_no_zero(actor, dog, now):
    made = report(actor, dog, now)
    found = read(made)
    assert found.count("Noentryinthisperiod.Thatisnot“none”") == 5
    assert "toilet.outings" not in made.contents.figures
    assert "alone.absences" not in made.contents.figures


@pytest.mark.parametrize("name", NAMES)
def test_names_of_any_script_and_a_note_of_5000_words_are_printed(actor, dog, now, name):
    from pupilage.storage.models import Dog

    Dog.objects.filter(id=dog).update(name=name)
    log_incident(actor, dog, IncidentEntry("mouthing-hands", now, note=WORDS), now=now)
    found = read(report(actor, dog, now))
    assert all(flat(f"word{n}") in found for n in (0, 2499, 4999))
