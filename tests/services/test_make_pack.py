"""Making the pack: who may, what is written down, and that no transaction is open while it is typeset."""

from datetime import timedelta
from itertools import pairwise
from uuid import uuid4

import pytest
from django.db import connection

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.absences import AbsenceRecord, SignAt
from pupilage.core.incidents.alone import Sign
from pupilage.reports.pack.options import Language, PackOptions
from pupilage.services import make_pack as making
from pupilage.services.explain_figure import explain_figure, list_figures
from pupilage.services.gather_pack import USUAL_UNWANTED, facts_of, gather_pack
from pupilage.services.log_absence import log_absence
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.make_pack import make_pack
from pupilage.services.save_handover_words import FamilyWords, read_pack_page, save_handover_words
from pupilage.storage.models import AuditEntry, Dog, HandoverWords, Programme

USUAL = PackOptions()


def test_pack_is_a_pdf_and_its_figures_are_kept_in_one_audit_row(actor, programme, now):
    made = make_pack(actor, programme, PackOptions(Language.DE), now=now)
    assert made.pdf.startswith(b"%PDF-1.7")
    row = AuditEntry.objects.get(action="make-pack")
    assert row.subject == str(programme)
    assert row.detail["language"] == "de"
    assert row.detail["figures"] == {one.key: one.shown for one in made.contents.figures.found.values()}


def test_three_parts_are_told_as_they_are_done(actor, programme, now):
    told = []
    make_pack(actor, programme, USUAL, now=now, each=lambda: told.append(1))
    assert len(told) == making.N_PARTS


@pytest.mark.django_db(transaction=True)
def test_no_transaction_is_open_while_it_is_typeset(actor, programme, now, monkeypatch):
    seen = []
    monkeypatch.setattr(making, "typeset", lambda data: seen.append(connection.in_atomic_block) or b"%PDF")
    make_pack(actor, programme, USUAL, now=now)
    assert seen == [False]


def test_stranger_finds_nothing_and_reader_may_not(stranger, reader, programme, now):
    with pytest.raises(NotFound):
        make_pack(stranger, programme, USUAL, now=now)
    with pytest.raises(Forbidden):
        make_pack(reader, programme, USUAL, now=now)
    with pytest.raises(NotFound):
        explain_figure(stranger, programme, "food.day", USUAL, now=now)
    with pytest.raises((NotFound, Forbidden)):
        save_handover_words(reader, programme, FamilyWords("Free"), now=now)
    assert not HandoverWords.objects.exists()


def test_every_figure_can_be_explained_by_name_and_says_what_was_printed(actor, programme, now):
    made = make_pack(actor, programme, USUAL, now=now)
    for one in made.contents.figures.found.values():
        told = explain_figure(actor, programme, one.key, USUAL, now=now)
        assert told.figure == one
        assert told.printed == (now, one.shown)
        assert one.source.function in one.query
        assert one.source.words


def test_figure_never_printed_says_so_and_an_unknown_one_is_refused(actor, programme, now):
    assert explain_figure(actor, programme, "food.day", USUAL, now=now).printed is None
    with pytest.raises(NotFound):
        explain_figure(actor, programme, "food.moon", USUAL, now=now)


def test_functions_that_figures_name_exist(actor, programme, new_session, now):
    from importlib import import_module

    from pupilage.storage.catalogue_files import load_catalogue

    key = gather_pack(actor, programme, now=now).goals[0].behaviour.key
    step = load_catalogue().behaviours[key].steps[0].key
    for n in range(3):
        new_session(actor, programme, key, step, ["met"] * 6, at=now - timedelta(days=3 - n))
    for one in list_figures(actor, programme, USUAL, now=now):
        module, _, name = one.source.function.rpartition(".")
        assert hasattr(import_module(f"pupilage.{module}"), name), one.source.function


def test_stay_without_a_session_an_outing_or_an_incident_gets_the_usual(actor, programme, now):
    facts = gather_pack(actor, programme, now=now)
    assert [one.unwanted.key for one in facts.unwanted] == list(USUAL_UNWANTED)
    assert all(one.n_trials == 0 and one.upkeep is None for one in facts.goals)
    assert facts.alone.n_absences == 0
    assert facts.vet_dates[0][1] == "second vaccination"
    assert facts.residents == (), "the trainer's own dog stays behind"


def test_stay_without_goals_has_a_pack(actor, new_programme, now):
    assert make_pack(actor, new_programme(actor, n_goals=0), USUAL, now=now).pdf


def test_grown_dog_without_a_curve_has_a_pack(actor, new_programme, now):
    programme = new_programme(actor)
    Dog.objects.filter(is_resident=False).update(born_on=now.date() - timedelta(weeks=400))
    assert gather_pack(actor, programme, now=now).outings is None
    assert make_pack(actor, programme, USUAL, now=now).pdf


def test_weeks_follow_the_record(actor, programme, dog, now):
    facts = gather_pack(actor, programme, now=now)
    assert list(facts.outings.weeks_min) == sorted(facts.outings.weeks_min)
    assert facts.outings.weeks_min[0] >= facts.outings.awake_min
    weights = [one.weight_kg for one in facts.food.weeks]
    assert weights == sorted(weights)
    assert max(weights) <= 18.0
    log_absence(
        actor, dog, AbsenceRecord(str(uuid4()), now - timedelta(hours=3), 60.0, (SignAt(Sign.PANIC, 20.0),)), now=now
    )
    assert set(gather_pack(actor, programme, now=now).alone.weeks_s) == {None}


def test_words_for_the_family_are_kept_and_printed(actor, programme, now):
    words = FamilyWords("  Free ", "No shoes upstairs.\n\n  Quiet after eight. ", "Thank you.")
    save_handover_words(actor, programme, words, now=now)
    save_handover_words(actor, programme, words, now=now)
    facts = gather_pack(actor, programme, now=now)
    assert facts.release_word == "Free"
    assert facts.house_rules == ("No shoes upstairs.", "Quiet after eight.")
    assert read_pack_page(actor, programme, now=now).words.note == "Thank you."
    assert HandoverWords.objects.count() == 1


def test_words_that_are_too_long_are_refused_all_at_once(actor, programme, now):
    with pytest.raises(InvalidInput) as refused:
        save_handover_words(actor, programme, FamilyWords("x" * 41, "rule\n" * 13, "n" * 100_001), now=now)
    assert {one.where for one in refused.value.problems} == {"release_word", "house_rules", "note"}


HANDED_OVER = timedelta(days=11, hours=4)
"""From the tests' moment to the day of the hand-over, in the afternoon."""


@pytest.fixture
def recorded(actor, programme, dog, now):
    """A stay with a week of outings and an incident before its hand-over."""
    for hours in range(0, 7 * 24, 3):
        log_care(actor, dog, CareEntry(CareKind.OUTING, now - timedelta(hours=hours), CareDetail.WEE), now=now)
    log_incident(actor, dog, IncidentEntry("jumping-up", at=now), now=now)
    return programme


def test_pack_made_weeks_after_the_hand_over_says_what_one_made_on_the_day_said(actor, recorded, now):
    on_the_day = gather_pack(actor, recorded, now=now + HANDED_OVER)
    weeks_after = gather_pack(actor, recorded, now=now + HANDED_OVER + timedelta(days=26))
    assert weeks_after.made_on - on_the_day.made_on == timedelta(days=26)
    for part in ("outings", "alone", "food", "unwanted", "handover_on"):
        assert getattr(weeks_after, part) == getattr(on_the_day, part)
    assert [one.n_lately for one in weeks_after.unwanted if one.unwanted.key == "jumping-up"] == [1]
    kilograms = [week.weight_kg for week in weeks_after.food.weeks]
    assert all(later > sooner for sooner, later in pairwise(kilograms))


def test_familys_page_after_the_hand_over_tells_the_present_week_of_the_pack(actor, recorded, now):
    stay = Programme.objects.select_related("dog", "family").get(id=recorded)
    later = now + HANDED_OVER + timedelta(days=22)
    pack, page = gather_pack(actor, recorded, now=later), facts_of(actor, stay, now=later, n_weeks=0)
    assert page.food.daily_g == pack.food.weeks[3].grams
    assert page.outings.awake_min <= pack.outings.weeks_min[3]
    assert page.outings.n_outings == pack.outings.n_outings > 0
    before = facts_of(actor, stay, now=now, n_weeks=0)
    assert before.food.daily_g == stay.dog.daily_food_g
