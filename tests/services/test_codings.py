"""Codings of other people are kept as they were tapped, once, and compared with the session's log."""

from dataclasses import replace
from uuid import UUID, uuid4

import pytest

from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.evaluation.codings import Entry, EntryKind, Mark
from pupilage.core.evaluation.comparison import Terms
from pupilage.services.compare_codings import Sides, compare_session_codings
from pupilage.services.keep_coding import CodingGiven, Subject, keep_coding
from pupilage.storage.models import AuditEntry, Coding, CodingEntry
from pupilage.storage.queries.codings import list_recording_codings
from pupilage.storage.queries.dogs import dog_readable_by

pytestmark = pytest.mark.django_db

FIRST = ["met"] * 9 + ["missed"] * 3
"""The session's own log: twelve trials, 8 s apart, the first 8 s after its start; it ends after 104 s."""


@pytest.fixture
def session(actor, programme, new_session) -> UUID:
    from pupilage.storage.catalogue_files import load_catalogue

    return new_session(actor, programme, "sit", load_catalogue().behaviours["sit"].steps[0].key, FIRST)


def marks(*told, start=8.4):
    return tuple(
        Entry(str(uuid4()), EntryKind.MARK, start + 8.0 * n, code) for n, code in enumerate(told) if code is not None
    )


def given(*entries, observer="Pia"):
    return CodingGiven(uuid4(), observer, tuple(entries))


def compare(actor, session, **sides):
    return compare_session_codings(actor, session, Sides(**sides), Terms(), log_name="The log")


def test_second_coding_is_laid_beside_the_log(actor, session, now):
    told = given(*marks(*["met"] * 8, "missed", "missed", None, "missed"), Entry(str(uuid4()), EntryKind.ENDED, 100.0))
    keep_coding(actor, Subject(session_id=session), told, now=now)
    found = compare(actor, session).comparison
    assert (found.one.observer, found.other.observer, found.compared_s) == ("The log", "Pia", 100.0)
    assert (found.n_same, len(found.moments)) == (10, 12)
    assert [(d.n, d.one, d.other) for d in found.differing] == [(9, "met", "missed"), (11, "missed", None)]


def test_same_entries_twice_and_in_parts_are_stored_once(actor, session, now):
    told = given(*marks(*FIRST))
    keep_coding(actor, Subject(session_id=session), replace(told, entries=told.entries[:5]), now=now)
    for _ in range(2):
        ids = keep_coding(actor, Subject(session_id=session), told, now=now)
        assert ids == tuple(entry.id for entry in told.entries)
    assert (Coding.objects.count(), CodingEntry.objects.count()) == (1, 12)
    assert AuditEntry.objects.filter(action="keep-coding").count() == 1
    assert compare(actor, session).comparison.share == 1.0


def test_log_alone_is_no_comparison(actor, session):
    page = compare(actor, session)
    assert (page.comparison, page.other, [side.id for side in page.codings]) == (None, "", ["log"])


def test_two_stored_codings_can_be_compared_with_each_other(actor, session, now):
    for observer in ("Pia", "Robin"):
        keep_coding(actor, Subject(session_id=session), given(*marks(*FIRST), observer=observer), now=now)
    page = compare(actor, session)
    one, other = (side.id for side in page.codings[1:])
    found = compare(actor, session, one=one, other=other).comparison
    assert {found.one.observer, found.other.observer} == {"Pia", "Robin"}
    with pytest.raises(NotFound):
        compare(actor, session, one=str(uuid4()))


def test_correction_of_the_log_is_what_is_compared(actor, session, now):
    from pupilage.core.training.record.evidence import Outcome
    from pupilage.services.correct_trial import Correction, correct_trial
    from pupilage.storage.models import Trial

    keep_coding(actor, Subject(session_id=session), given(*marks(*["met"] * 10, "missed", "missed")), now=now)
    assert compare(actor, session).comparison.n_same == 11
    tenth = Trial.objects.filter(session_id=session).order_by("at")[9]
    correct_trial(actor, session, Correction(tenth.event_id, Outcome.MET), device_id=uuid4(), tz_offset_min=0, now=now)
    assert compare(actor, session).comparison.n_same == 12


def test_coding_of_a_recording_is_kept_by_its_name(actor, dog, now):
    told = given(Entry(str(uuid4()), EntryKind.MARK, 12.5, "bark"), Entry(str(uuid4()), EntryKind.ENDED, 300.0))
    keep_coding(actor, Subject(dog_id=dog, recording="alone, Tuesday"), told, now=now)
    (kept,) = list_recording_codings(dog_readable_by(actor, dog), "alone, Tuesday")
    assert (kept.coding.marks, kept.coding.length_s) == ((Mark(12.5, "bark"),), 300.0)


def test_ids_that_stand_for_something_else_are_refused(actor, session, dog, now):
    told = given(*marks("met"))
    keep_coding(actor, Subject(session_id=session), told, now=now)
    with pytest.raises(Conflict):
        keep_coding(actor, Subject(dog_id=dog, recording="x"), told, now=now)
    with pytest.raises(Conflict):
        keep_coding(actor, Subject(session_id=session), replace(told, coding_id=uuid4()), now=now)
    assert (Coding.objects.count(), CodingEntry.objects.count()) == (1, 1)


def test_everything_wrong_is_told_at_once_and_nothing_is_stored(actor, session, now):
    bad = given(Entry(str(uuid4()), EntryKind.MARK, -3.0, "sat nicely"), observer=" ")
    with pytest.raises(InvalidInput) as refused:
        keep_coding(actor, Subject(session_id=session), bad, now=now)
    assert [problem.where for problem in refused.value.problems] == ["observer", "time_s", "code"]
    assert not Coding.objects.exists()


def test_reader_may_compare_and_not_code(actor, reader, stranger, session, now):
    assert compare(reader, session).comparison is None
    with pytest.raises(Forbidden):
        keep_coding(reader, Subject(session_id=session), given(*marks("met")), now=now)
    with pytest.raises(NotFound):
        keep_coding(stranger, Subject(session_id=session), given(*marks("met")), now=now)


def test_entries_are_never_changed(actor, session, now):
    keep_coding(actor, Subject(session_id=session), given(*marks("met")), now=now)
    with pytest.raises(Conflict):
        CodingEntry.objects.update(code="missed")
    with pytest.raises(Conflict):
        CodingEntry.objects.get().save()
