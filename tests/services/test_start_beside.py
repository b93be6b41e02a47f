"""A second dog's mat: a practice of its own, one mat a session, and a record that counts for its own goals."""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.open_practice import AHEAD, open_practice
from pupilage.services.read_after_session import read_after_session
from pupilage.services.read_beside import N_MATS, list_second_starts, read_beside
from pupilage.services.read_live_session import read_live_session
from pupilage.services.read_programme import find_current, list_programmes
from pupilage.services.record_events import record_events
from pupilage.services.start_beside import list_second_dogs, start_beside
from pupilage.services.start_session import SessionStart, start_session
from pupilage.storage.models import Dog, Household, Programme

DEVICE = uuid4()


@pytest.fixture
def moss(actor: Actor, programme: UUID) -> Dog:
    """A grown dog of the pup's household."""
    household = Programme.objects.get(id=programme).dog.household
    found = Dog.objects.filter(household=household, is_resident=True).first()
    born_on = datetime(2025, 3, 1).date()  # noqa: DTZ001  a date of birth has no zone
    return found or Dog.objects.create(
        workspace_id=actor.workspace_id, household=household, name="Moss", born_on=born_on, is_resident=True
    )


@pytest.fixture
def pup_session(actor: Actor, programme: UUID, now: datetime) -> UUID:
    start = SessionStart("sit", "lure", reinforcer="", pieces=None)
    return start_session(actor, programme, start, device_id=DEVICE, tz_offset_min=0, now=now)


def beside(actor: Actor, session: UUID, dog: UUID, now: datetime) -> UUID:
    return start_beside(actor, session, dog, device_id=DEVICE, tz_offset_min=0, now=now)


def hold(actor: Actor, session: UUID, at: datetime, *, cause: str | None = None) -> None:
    """Write a hold of three seconds that was paid once, released, or broken where a cause is given."""
    start = str(uuid4())
    ended = {"hold": start, "held_s": 3.0} | ({"cause": cause} if cause else {})
    told = [
        (start, EventKind.HOLD_STARTED, {"target_s": 2.0}),
        (str(uuid4()), EventKind.PAID, {"hold": start, "pieces": 1, "interval_s": 1.5}),
        (str(uuid4()), EventKind.HOLD_BROKE if cause else EventKind.HOLD_RELEASED, ended),
    ]
    events = [
        Event(key, str(DEVICE), n + 1, str(session), kind, at + timedelta(seconds=n), 0, payload)
        for n, (key, kind, payload) in enumerate(told)
    ]
    assert {verdict.status.value for verdict in record_events(actor, events, now=at)} == {"stored"}


def test_resident_gets_a_practice_that_is_no_stay(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    mat = beside(actor, pup_session, moss.id, now)
    live = read_live_session(actor, mat, now=now)
    assert (live.dog, live.behaviour.key, live.is_hold) == (moss.name, "settle-on-mat", True)
    assert live.next_hold is not None
    assert live.programme_id != programme
    current = find_current(actor, now=now)
    assert current is not None
    assert current.id == programme
    assert [head.id for head in list_programmes(actor, now=now)] == [programme]


def test_session_has_one_mat_however_often_it_is_asked_for(
    actor: Actor, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    assert beside(actor, pup_session, moss.id, now) == beside(actor, pup_session, moss.id, now)
    assert Programme.objects.filter(dog=moss).count() == 1


def test_holds_count_for_the_second_dog_alone_and_are_summed_up_after(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    mat = beside(actor, pup_session, moss.id, now)
    before = read_beside(actor, pup_session, now=now)
    hold(actor, mat, now + timedelta(seconds=5))
    hold(actor, mat, now + timedelta(seconds=20), cause="pup-near")
    after = read_after_session(actor, pup_session, now=now + timedelta(minutes=1))
    assert before is not None
    assert after.mat is not None
    summary = after.mat.summary
    assert (summary.n_holds, summary.n_broke, summary.n_paid, summary.pieces) == (2, 1, 2, 2)
    assert [(cause.value, n) for cause, n in summary.causes] == [("pup-near", 1)]
    assert after.mat.next_hold is not None
    assert "3.0 s" in str(after.mat.next_hold.reason)
    assert read_live_session(actor, pup_session, now=now).record.trials == ()
    assert not Programme.objects.get(id=programme).sessions.filter(behaviour="settle-on-mat").exists()


def test_practice_is_made_longer_before_it_ends(actor: Actor, moss: Dog, now: datetime) -> None:
    first = open_practice(actor, moss, now=now)
    later = open_practice(actor, moss, now=now + AHEAD - timedelta(days=3))
    assert later.id == first.id
    assert (later.handover_on - first.arrival_on).days > AHEAD.days


def test_the_dog_that_is_worked_and_a_pup_without_a_stay_are_refused(
    actor: Actor, programme: UUID, pup_session: UUID, now: datetime
) -> None:
    worked = Programme.objects.get(id=programme).dog
    with pytest.raises(InvalidInput, match="is the dog that is worked"):
        beside(actor, pup_session, worked.id, now)
    household = Household.objects.get(id=worked.household_id)
    stray = Dog.objects.create(
        workspace_id=actor.workspace_id, household=household, name="Fern", born_on=worked.born_on
    )
    with pytest.raises(InvalidInput, match="has no stay yet"):
        beside(actor, pup_session, stray.id, now)


def test_stranger_and_reader_begin_no_mat(
    stranger: Actor, reader: Actor, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    with pytest.raises(NotFound):
        beside(stranger, pup_session, moss.id, now)
    with pytest.raises(Forbidden):
        beside(reader, pup_session, moss.id, now)


def test_dogs_to_choose_from_leave_out_the_one_that_is_worked(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    assert [dog.id for dog in list_second_dogs(actor, programme, now=now)] == [moss.id]
    assert list_second_starts(actor, programme, now=now) == []  # it has never been on a mat here
    beside(actor, pup_session, moss.id, now)
    (start,) = list_second_starts(actor, programme, now=now)
    assert start.live.dog == moss.name
    again = list_second_starts(actor, programme, now=now)[0]
    assert len({*start.ids, *again.ids}) == 2 * N_MATS  # no two phones draw alike
