"""Absences: written once, taken back, replaced by what a recording holds, read with the next one."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.bouts import Bout, Heard
from pupilage.services.log_absence import accept_bouts, log_absence, take_absence_back
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.note_alone_advice import note_alone_advice
from pupilage.services.read_alone import read_alone
from pupilage.storage.models import Absence, AuditEntry

WHINE = Heard((Bout(Sign.WHINING, 20.0, 30.0),), 600.0)


@pytest.fixture
def record(now):
    """An absence of an hour ago, with everything that can be written down."""
    return AbsenceRecord(
        id=str(uuid4()),
        at=now - timedelta(hours=1),
        away_s=90.0,
        signs=(SignAt(Sign.PACING, 60.0), SignAt(Sign.DAMAGE)),
        spot=Spot.PEN,
        resident=True,
        had=(Had.CHEW,),
        state=(State.BEEN_OUT, State.DROWSY),
        watched=Watched.CAMERA,
        note="by the gate",
    )


def again(record, minutes, **changes):
    """The same absence so many minutes later, under another id and calm unless told otherwise."""
    return replace(record, **{"id": str(uuid4()), "at": record.at + timedelta(minutes=minutes), "signs": ()} | changes)


def test_absence_comes_back_as_it_was_written(actor, dog, programme, record, now):
    log_absence(actor, dog, record, now=now)
    assert read_alone(actor, dog, now=now).absences == (record,)
    assert AuditEntry.objects.filter(action="log-absence", subject=record.id).count() == 1


def test_same_absence_twice_is_stored_once_and_audited_once(actor, dog, programme, record, now):
    assert log_absence(actor, dog, record, now=now) == log_absence(actor, dog, record, now=now)
    assert Absence.objects.count() == 1
    assert AuditEntry.objects.filter(action="log-absence").count() == 1


def test_what_cannot_be_is_refused_all_at_once(actor, dog, programme, record, now):
    log_absence(actor, dog, record, now=now)
    clash = again(record, 1, signs=(SignAt(Sign.BARKING, 500.0),))
    with pytest.raises(InvalidInput) as refused:
        log_absence(actor, dog, clash, now=now)
    assert len(refused.value.problems) == 2
    assert Absence.objects.count() == 1


def test_absence_before_the_pup_came_is_refused(actor, dog, programme, record, now):
    with pytest.raises(InvalidInput, match="before the pup came"):
        log_absence(actor, dog, replace(record, at=now - timedelta(days=40)), now=now)


def test_absence_taken_back_is_in_no_reading_and_frees_its_time(actor, dog, programme, record, now):
    absence = log_absence(actor, dog, record, now=now)
    for _ in range(2):
        assert take_absence_back(actor, absence, now=now) == dog
    assert read_alone(actor, dog, now=now).absences == ()
    log_absence(actor, dog, again(record, 0), now=now)
    assert Absence.objects.count() == 2
    assert AuditEntry.objects.filter(action="take-absence-back").count() == 1


def test_reader_and_stranger_may_not_write(reader, stranger, actor, dog, programme, record, now):
    absence = log_absence(actor, dog, record, now=now)
    with pytest.raises(Forbidden):
        log_absence(reader, dog, again(record, 10), now=now)
    with pytest.raises(NotFound):
        log_absence(stranger, dog, again(record, 10), now=now)
    with pytest.raises(NotFound):
        take_absence_back(stranger, absence, now=now)
    with pytest.raises(NotFound):
        accept_bouts(stranger, absence, WHINE, now=now)
    with pytest.raises(NotFound):
        read_alone(stranger, dog, now=now)


def test_bouts_replace_the_row_and_keep_the_old_one(actor, dog, programme, record, now):
    absence = log_absence(actor, dog, record, now=now)
    heard = accept_bouts(actor, absence, WHINE, now=now)
    assert accept_bouts(actor, absence, WHINE, now=now) == heard
    (stands,) = read_alone(actor, dog, now=now).absences
    assert stands.signs[0] == SignAt(Sign.WHINING, 20.0)
    assert stands.note == "by the gate"
    row = Absence.objects.get(id=heard)
    assert (row.replaces_id, Absence.objects.get(id=absence).taken_back_at) == (absence, now)


def test_bouts_that_add_nothing_leave_the_row(actor, dog, programme, record, now):
    absence = log_absence(actor, dog, record, now=now)
    assert accept_bouts(actor, absence, Heard((), 600.0), now=now) == absence
    assert Absence.objects.count() == 1


def test_bouts_of_an_absence_taken_back_are_refused(actor, dog, programme, record, now):
    absence = log_absence(actor, dog, record, now=now)
    take_absence_back(actor, absence, now=now)
    with pytest.raises(Conflict):
        accept_bouts(actor, absence, WHINE, now=now)


def test_first_absence_is_proposed_where_none_was_written(actor, dog, programme, now):
    page = read_alone(actor, dog, now=now)
    assert page.proposed[0].seconds == 5.0
    assert (page.curve, page.growth.days) == (None, ())
    assert "Out to the toilet first" in str(page.first)


def test_outing_just_done_leaves_time_for_an_absence(actor, dog, programme, now):
    log_care(actor, dog, CareEntry(CareKind.OUTING, now - timedelta(minutes=2), CareDetail.WEE), now=now)
    page = read_alone(actor, dog, now=now)
    assert page.first is None
    assert page.ceiling.seconds < 3.0 * 3600.0
    assert "may have to go out by then" in str(page.ceiling.reason)


def test_not_watched_is_told_and_counts_in_nothing(actor, dog, programme, record, now):
    log_absence(actor, dog, again(record, 0, watched=Watched.NOT), now=now)
    page = read_alone(actor, dog, now=now)
    assert (page.n_untold, page.curve, len(page.absences)) == (1, None, 1)


def test_panic_stops_until_a_professional_has_spoken_and_then_begins_at_the_door(actor, dog, programme, record, now):
    log_absence(actor, dog, replace(record, signs=(SignAt(Sign.ESCAPE, 30.0),)), now=now)
    page = read_alone(actor, dog, now=now)
    assert page.panicked
    assert [one.seconds for one in page.proposed] == [None]
    with pytest.raises(InvalidInput):
        note_alone_advice(actor, dog, "  ", now=now)
    note_alone_advice(actor, dog, "The clinic on the hill: begin at the door again.", now=now)
    page = read_alone(actor, dog, now=now + timedelta(minutes=1))
    assert not page.panicked
    assert page.proposed[0].seconds == 5.0
    assert page.advice[1].startswith("The clinic")
    assert len(page.absences) == 1


def test_page_takes_few_queries(actor, dog, programme, record, now, django_assert_max_num_queries):
    for n in range(5):
        log_absence(actor, dog, again(record, -10 * n), now=now)
    with django_assert_max_num_queries(6):
        read_alone(actor, dog, now=now)
