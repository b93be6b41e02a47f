"""The pack read by two other libraries: pypdf for its text, pikepdf for its structure.

Source: ISO 19005-2:2011 (PDF/A-2), clauses 6.2.4 (output intent), 6.2.11.4 (fonts embedded), 6.1.13 / 6.6.4
(identification in XMP), 6.7 (level A: tagged, natural language); from memory. No validator of the standard is in the
registries that we may use, so these are the clauses that can be read off the file; typst checks the others itself.
"""

import io
import re
from datetime import timedelta

import pikepdf
import pypdf
import pytest

from pupilage.core.units import WeightUnit
from pupilage.reports.pack.options import Language, PackOptions, Paper
from pupilage.services.make_pack import make_pack
from pupilage.services.save_handover_words import FamilyWords, save_handover_words

POINTS = {Paper.A4: (595.28, 841.89), Paper.LETTER: (612.0, 792.0)}
"""ISO 216 A4, 210 × 297 mm; Letter 8.5 × 11 in; 72 points an inch."""


def first_step(key):
    from pupilage.storage.catalogue_files import load_catalogue

    return load_catalogue().behaviours[key].steps[0].key


@pytest.fixture
def made(actor, programme, new_session, now):
    from pupilage.storage.queries.programmes import list_goals, programme_readable_by

    goal = list_goals(programme_readable_by(actor, programme))[0]
    for n in range(4):
        at = now - timedelta(days=4 - n)
        new_session(actor, programme, goal.behaviour, first_step(goal.behaviour), ["met"] * 5 + ["missed"], at=at)

    def make(**options):
        return make_pack(actor, programme, PackOptions(**options), now=now)

    return make


def text_of(pdf):
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def squeezed(text):
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("language", list(Language))
def test_pypdf_reads_every_figure_and_every_sentence_that_the_pack_was_to_say(made, language):
    from pupilage.reports.pack.contents import read_through

    pack = made(language=language)
    found = squeezed(text_of(pack.pdf))
    figures = list(pack.contents.figures.found.values())
    assert len(figures) > 20
    for one in figures:
        assert squeezed(f"{one.number}{one.key}{one.shown}{one.source.words}") in found, one.key
    lost = [text for text in read_through(pack.contents) if squeezed(text) not in found]
    assert lost == []


def test_figures_of_the_pages_are_those_of_the_services(made, actor, programme, now):
    from pupilage.services.read_outings import read_outings_of_programme
    from pupilage.services.read_programme import read_programme
    from pupilage.services.read_ration import read_ration

    found = made().contents.figures.found
    limits = read_outings_of_programme(actor, programme, now=now).reading.limits
    assert [found[f"outing.{name}"].value for name in ("awake", "resting", "night")] == [
        limits.awake_min, limits.resting_min, limits.night_min,
    ]  # fmt: skip
    page = read_programme(actor, programme, now=now)
    assert found["food.day"].value == read_ration(actor, page.head.dog_id, now=now).daily_food_g
    for standing in page.standings:
        if standing.n_trials:
            assert found[f"{standing.behaviour.key}.tries"].value == standing.n_trials
            in_places = [
                one.value for key, one in found.items() if re.fullmatch(f"{standing.behaviour.key}.quiet-room", key)
            ]
            assert in_places == ["16/20"], "of 24 tries the newest 20: the four misses lie in them"


@pytest.mark.parametrize("language", list(Language))
def test_pikepdf_finds_what_pdf_a_2a_asks_for(made, language):
    with pikepdf.open(io.BytesIO(made(language=language).pdf)) as pdf:
        assert not pdf.is_encrypted
        assert str(pdf.Root.Lang) == language.value
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "/StructTreeRoot" in pdf.Root
        assert [str(one.S) for one in pdf.Root.OutputIntents] == ["/GTS_PDFA1"]
        assert "/DestOutputProfile" in pdf.Root.OutputIntents[0]
        assert "/AcroForm" not in pdf.Root
        with pdf.open_metadata() as told:
            assert (told["pdfaid:part"], told["pdfaid:conformance"]) == ("2", "A")
            assert told["dc:title"].startswith("Tansy")
        fonts = list(fonts_of(pdf))
        assert fonts
        assert all(is_embedded(font) for font in fonts)
        assert not scripts_of(pdf)


def fonts_of(pdf):
    for one in pdf.objects:
        if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/FontDescriptor":
            yield one


def is_embedded(descriptor):
    return any(name in descriptor for name in ("/FontFile", "/FontFile2", "/FontFile3"))


def scripts_of(pdf):
    actions = ("/JavaScript", "/Launch", "/Movie", "/Sound")
    dictionaries = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
    return [one for one in dictionaries if str(one.get("/S", "")) in actions]


def test_headings_are_tagged_so_that_they_can_be_jumped_to(made):
    reader = pypdf.PdfReader(io.BytesIO(made().pdf))
    titles = [one.title for one in reader.outline if not isinstance(one, list)]
    assert "The first eight weeks" in titles
    assert "Where the figures come from" in titles


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("large", [False, True])
def test_fridge_page_is_one_page_on_either_paper_in_either_print(made, paper, large):
    for language in Language:
        reader = pypdf.PdfReader(io.BytesIO(made(language=language, paper=paper, large=large, unit=WeightUnit.LB).pdf))
        box = reader.pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(POINTS[paper], abs=0.1)
        second = reader.pages[1].extract_text()
        assert second.startswith(
            {Language.EN: "The first eight weeks", Language.DE: "Die ersten acht Wochen"}[language]
        )


def test_same_record_gives_the_same_bytes(made):
    assert made().pdf == made().pdf


def test_note_of_5000_words_goes_on_over_the_pages(made, actor, programme, now):
    note = " ".join(f"word{i}" for i in range(5000))
    save_handover_words(actor, programme, FamilyWords("Free", "", note), now=now)
    found = squeezed(text_of(made().pdf))
    assert "word0word1" in found
    assert "word4998word4999" in found


def test_what_somebody_typed_is_never_read_as_markup(made, actor, programme, now):
    typed = '#panic("no") $x_1$ *bold* `code` = Title // gone \\ #sys.inputs <label> @ref'
    save_handover_words(actor, programme, FamilyWords("#Free", typed, typed), now=now)
    found = squeezed(text_of(made().pdf))
    assert found.count(squeezed(typed)) == 2


@pytest.mark.parametrize("name", ["محمد", "小虎", "Tansy 🐶", "\u202eTansy\u0000", "ต้นกล้า"])
def test_pup_whose_name_is_in_any_script_gets_a_pack_and_is_told_what_could_not_be_drawn(
    actor, new_programme, now, intake, name
):
    from dataclasses import replace

    programme_id = new_programme(actor, n_goals=2, pup=replace(intake.pup, name=name))
    pack = make_pack(actor, programme_id, PackOptions(), now=now)
    found = text_of(pack.pdf)
    assert "The first eight weeks" in found
    assert not found.startswith("[…]"), "a mark is no heading"
    if "U+" in found or "[…]" in found or "dog face" in found:
        assert "Signs that could not be drawn" in found
        assert "U+" in found
