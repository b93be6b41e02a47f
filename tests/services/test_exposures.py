"""The log of exposures in the database: written once, never changed, taken back by another entry."""

from dataclasses import replace
from datetime import timedelta
from math import inf, nan
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.judging import ItemState
from pupilage.core.care.exposures.log import Response
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.services.log_exposure import ExposureEntry, log_exposure
from pupilage.services.note_vet_word import note_vet_word
from pupilage.services.read_exposures import read_exposure, read_exposures
from pupilage.services.withdraw_exposure import withdraw_exposure
from pupilage.storage.models import AuditEntry, Dog, ExposureEvent


@pytest.fixture
def entry(now):
    return ExposureEntry("grass", now, 1, Response.CALM, event_id=uuid4(), recovery_s=4.0, with_food=True)


def state(actor, programme, now, key="grass"):
    return read_exposures(actor, programme, now=now).judgement.of(key).state


def test_meeting_is_stored_as_it_was_given(actor, programme, dog, entry, now):
    log_exposure(actor, dog, replace(entry, distance_m=2.5, note="wet", tz_offset_min=60), now=now)
    row = ExposureEvent.objects.get()
    assert (row.item, row.intensity, row.response, row.distance_m) == ("grass", 1, "calm", 2.5)
    assert (row.recovery_s, row.with_food, row.note, row.tz_offset_min) == (4.0, True, "wet", 60)
    assert state(actor, programme, now) is ItemState.MET_WELL


def test_same_id_twice_is_one_entry_with_one_audit_row(actor, dog, entry, now):
    first = log_exposure(actor, dog, entry, now=now)
    assert log_exposure(actor, dog, entry, now=now + timedelta(minutes=1)) == first
    assert ExposureEvent.objects.count() == 1
    assert AuditEntry.objects.filter(action="log-exposure").count() == 1


def test_id_of_the_veterinarians_word_is_no_id_for_a_meeting(actor, dog, entry, now):
    note_vet_word(actor, dog, VetTopic.GROUND, event_id=entry.event_id, now=now)
    with pytest.raises(Conflict):
        log_exposure(actor, dog, entry, now=now)


def test_entry_taken_back_twice_is_taken_back_once_and_stays_in_the_log(actor, programme, dog, entry, now):
    log_exposure(actor, dog, entry, now=now)
    for _ in range(2):
        assert withdraw_exposure(actor, dog, entry.event_id, now=now).item == "grass"
    assert ExposureEvent.objects.count() == 2
    assert AuditEntry.objects.filter(action="withdraw-exposure").count() == 1
    assert state(actor, programme, now) is ItemState.NOT_MET


def test_withdrawal_is_nothing_to_take_back(actor, dog, entry, now):
    log_exposure(actor, dog, entry, now=now)
    withdraw_exposure(actor, dog, entry.event_id, now=now)
    with pytest.raises(NotFound):
        withdraw_exposure(actor, dog, ExposureEvent.objects.get(kind="withdrawn").event_id, now=now)


def test_nothing_in_the_log_can_be_changed_or_deleted(actor, dog, entry, now):
    log_exposure(actor, dog, entry, now=now)
    row = ExposureEvent.objects.get()
    row.intensity = 2
    for change in (row.save, row.delete, ExposureEvent.objects.all().delete):
        with pytest.raises(Conflict):
            change()
    with pytest.raises(Conflict):
        ExposureEvent.objects.update(intensity=2)


@pytest.mark.parametrize("broken", [{"intensity": 0}, {"intensity": 6}, {"intensity": None}, {"item": ""}])
def test_database_itself_refuses_a_meeting_that_says_nothing(actor, dog, now, broken):
    plain = {"kind": "met", "item": "grass", "intensity": 1, "response": "calm", "at": now, "received_at": now}
    row = ExposureEvent(workspace_id=actor.workspace_id, dog_id=dog, event_id=uuid4(), **{**plain, **broken})
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"item": "unicorn"}, "“unicorn” is not on the list"),
        ({"intensity": 0}, "0 is not an intensity; give a whole number from 1 to 5."),
        ({"intensity": 6}, "6 is not an intensity"),
        ({"distance_m": nan}, "nan m is no distance"),
        ({"distance_m": inf}, "inf m is no distance"),
        ({"distance_m": -1.0}, "-1 m is no distance"),
        ({"distance_m": 201.0}, "201 m is no distance"),
        ({"recovery_s": nan}, "nan s is no time to recover"),
        ({"recovery_s": -3.0}, "-3 s is no time to recover"),
    ],
)
def test_bad_value_is_refused_in_a_sentence(actor, dog, entry, now, change, told):
    with pytest.raises(InvalidInput) as error:
        log_exposure(actor, dog, replace(entry, **change), now=now)
    assert told in str(error.value)
    assert not ExposureEvent.objects.exists()


def test_future_is_refused_and_all_problems_are_told_at_once(actor, dog, entry, now):
    bad = replace(entry, at=now + timedelta(hours=1), intensity=9, item="unicorn", distance_m=nan)
    with pytest.raises(InvalidInput) as error:
        log_exposure(actor, dog, bad, now=now)
    assert [problem.where for problem in error.value.problems] == ["item", "at", "intensity", "distance_m"]
    with pytest.raises(InvalidInput):
        note_vet_word(actor, dog, VetTopic.DOGS, at=now + timedelta(hours=1), now=now)


def test_reader_may_read_and_not_write(actor, reader, programme, dog, entry, now):
    assert read_exposures(reader, programme, now=now).judgement.standings
    for write in (
        lambda: log_exposure(reader, dog, entry, now=now),
        lambda: note_vet_word(reader, dog, VetTopic.DOGS, now=now),
        lambda: withdraw_exposure(reader, dog, uuid4(), now=now),
    ):
        with pytest.raises(Forbidden):
            write()


def test_stranger_finds_nothing(stranger, programme, dog, entry, now):
    for ask in (
        lambda: read_exposures(stranger, programme, now=now),
        lambda: log_exposure(stranger, dog, entry, now=now),
        lambda: withdraw_exposure(stranger, dog, uuid4(), now=now),
    ):
        with pytest.raises(NotFound):
            ask()


def test_veterinarians_word_opens_what_waited_and_can_be_taken_back(actor, programme, dog, now):
    def waits():
        return read_exposure(actor, programme, "quiet-street", now=now).standing.waits_for_vet

    assert waits() is VetTopic.GROUND
    word = note_vet_word(actor, dog, VetTopic.GROUND, now=now)
    assert waits() is None
    withdraw_exposure(actor, dog, word, now=now)
    assert waits() is VetTopic.GROUND


def test_nothing_is_proposed_on_the_day_at_the_veterinarians(actor, programme, now):
    """The fixture's second vaccination is on 15 May."""
    page = read_exposures(actor, programme, now=now + timedelta(days=3))
    assert page.today == ()
    assert "A day with the veterinarian" in str(page.cautions[0])
    assert page.vet_days[0] not in {one.on for one in read_exposures(actor, programme, now=now).spread.dated}


def test_nothing_is_proposed_while_the_pup_is_unwell(actor, programme, dog, now):
    Dog.objects.filter(id=dog).update(signs="vomiting")
    assert read_exposures(actor, programme, now=now).today == ()


def test_meetings_of_today_leave_less_for_today(actor, programme, dog, entry, now):
    usual = len(read_exposures(actor, programme, now=now).today)
    for n in range(3):
        given = replace(entry, event_id=uuid4(), at=now - timedelta(minutes=n))
        log_exposure(actor, dog, given, now=now)
    assert len(read_exposures(actor, programme, now=now).today) == usual - 3


def test_dated_list_ends_before_the_hand_over_and_before_the_period_closes(actor, programme, now):
    page = read_exposures(actor, programme, now=now)
    assert page.spread.dated
    assert max(one.on for one in page.spread.dated) < min(page.head.handover_on, page.period.closes_on)


def test_unknown_item_has_no_page(actor, programme, now):
    with pytest.raises(NotFound):
        read_exposure(actor, programme, "unicorn", now=now)


def test_page_takes_three_queries_however_long_the_log(
    actor, programme, dog, entry, now, django_assert_max_num_queries
):
    for n in range(30):
        given = replace(entry, event_id=uuid4(), at=now - timedelta(hours=n))
        log_exposure(actor, dog, given, now=now)
    with django_assert_max_num_queries(3):
        read_exposures(actor, programme, now=now)
