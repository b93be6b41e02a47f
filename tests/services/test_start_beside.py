"""A second dog's mat: a practice of its own, one mat a session, and a record that counts for its own goals."""

import math
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Step
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.open_practice import AHEAD, open_practice
from pupilage.services.read_after_session import read_after_session
from pupilage.services.read_beside import N_MATS, list_second_starts, read_beside
from pupilage.services.read_live_session import read_live_session
from pupilage.services.read_programme import find_current, list_programmes
from pupilage.services.record_events import Verdict, record_events
from pupilage.services.start_beside import MATS, find_mat_start, list_second_dogs, mat_of, start_beside
from pupilage.services.start_session import SessionStart, start_session
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Goal, Household, Programme, Trial

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


def beside(actor: Actor, session: UUID, dog: UUID, now: datetime, *, can: str = "") -> UUID:
    return start_beside(actor, session, dog, can=can, device_id=DEVICE, tz_offset_min=0, now=now)


def another(actor: Actor, programme: UUID, at: datetime) -> UUID:
    start = SessionStart("sit", "lure", reinforcer="", pieces=None)
    return start_session(actor, programme, start, device_id=DEVICE, tz_offset_min=0, now=at)


def target_s(actor: Actor, mat: UUID, now: datetime) -> float:
    found = read_live_session(actor, mat, now=now).next_hold
    assert found is not None
    return found.target_s


def start_of_mat(programme: UUID, step: str, session: UUID, at: datetime) -> Event:
    """Return the start of a mat as a phone writes it."""
    payload = {"programme": str(programme), "behaviour": MATS[0], "step": step, "beside": str(session)}
    return Event(str(uuid4()), str(uuid4()), 0, str(uuid4()), EventKind.SESSION_STARTED, at, 0, payload)


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
    (start,) = list_second_starts(actor, programme, now=now)
    assert start.live.dog == moss.name
    again = list_second_starts(actor, programme, now=now)[0]
    assert len({*start.ids, *again.ids}) == 2 * N_MATS  # no two phones draw alike


# ---- a dog without a record -----------------------------------------------------------------------------------------

FIRST_OF_LIST = 1.0 + math.log(8) + 4 * math.log(4) - 5 * math.log(5)
"""The multiple of the middle that the first hold of a session is asked for: the fourth of eight intervals, Fleshler and
Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530."""


@pytest.mark.parametrize("step", load_catalogue().behaviours[MATS[0]].steps, ids=lambda step: step.key)
def test_dog_without_a_record_begins_where_the_trainer_says(
    actor: Actor, moss: Dog, pup_session: UUID, now: datetime, step: Step
) -> None:
    mat = beside(actor, pup_session, moss.id, now, can=step.key)
    live = read_live_session(actor, mat, now=now)
    wanted_s = FIRST_OF_LIST * step.criterion.duration_s
    rounding_s = 0.1 if wanted_s < 10 else 1.0  # down, to what a person can count
    assert live.step == step
    assert max(0.1, wanted_s - rounding_s) <= target_s(actor, mat, now) <= max(0.1, wanted_s)


def test_dog_without_a_record_of_which_nobody_says_anything_begins_at_the_first_step(
    actor: Actor, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    mat = beside(actor, pup_session, moss.id, now)
    live = read_live_session(actor, mat, now=now)
    assert (live.step, target_s(actor, mat, now)) == (live.behaviour.steps[0], 0.1)


def test_what_is_said_is_no_try_and_is_asked_until_there_is_one(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    mat = beside(actor, pup_session, moss.id, now, can="two-minutes")
    start = find_mat_start(actor, moss, now=now)
    assert start is not None
    assert (start.asks, start.step, start.known.trials, Trial.objects.count()) == (True, "two-minutes", (), 0)
    hold(actor, mat, now + timedelta(seconds=5))
    later = find_mat_start(actor, moss, now=now + timedelta(hours=1))
    assert later is not None
    assert (later.asks, [trial.step for trial in later.known.trials]) == (False, ["two-minutes"])
    (second,) = list_second_starts(actor, programme, now=now + timedelta(hours=1))
    assert (second.by_step, second.live.step.key) == ({}, later.step)


def test_what_is_said_of_a_dog_with_a_record_changes_nothing(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    hold(actor, beside(actor, pup_session, moss.id, now, can="one-second"), now + timedelta(seconds=5))
    later = now + timedelta(hours=1)
    start = find_mat_start(actor, moss, now=later)
    again = beside(actor, another(actor, programme, later), moss.id, later, can="ten-minutes")
    assert start is not None
    assert read_live_session(actor, again, now=later).step.key == start.step


def test_after_the_first_hold_the_holds_say_more_than_the_trainer(
    actor: Actor, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    mat = beside(actor, pup_session, moss.id, now, can="two-minutes")
    assert target_s(actor, mat, now) == 69.0
    hold(actor, mat, now + timedelta(seconds=5), cause="excitement")
    assert target_s(actor, mat, now) < 10.0  # it broke after three seconds


def test_step_that_is_none_is_refused(actor: Actor, moss: Dog, pup_session: UUID, now: datetime) -> None:
    with pytest.raises(InvalidInput, match="is not a step of"):
        beside(actor, pup_session, moss.id, now, can="on-its-head")


def push(actor: Actor, event: Event) -> Verdict:
    (verdict,) = record_events(actor, [event], now=event.at)
    return verdict


def test_two_phones_that_begin_without_a_practice_make_one_and_it_is_the_one_opened_here(
    actor: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    named = {str(list_second_starts(actor, programme, now=now)[0].live.programme_id) for _ in range(2)}
    assert not Programme.objects.filter(dog=moss).exists()  # asking for the day writes nothing
    starts = [start_of_mat(UUID(one), "kitchen", pup_session, now) for one in (*named, *named)]
    assert [push(actor, start).status.value for start in (*starts, starts[0])] == ["stored", "stored", "duplicate"]
    (practice,) = Programme.objects.filter(dog=moss)
    assert {str(practice.id)} == named
    assert open_practice(actor, moss, now=now).id == practice.id
    assert practice.handover_on - practice.arrival_on == AHEAD


def test_practice_of_a_pup_of_a_stranger_or_for_a_step_that_is_none_is_not_opened(
    actor: Actor, stranger: Actor, programme: UUID, moss: Dog, pup_session: UUID, now: datetime
) -> None:
    pup = Programme.objects.get(id=programme).dog_id
    for asks, dog, step in ((actor, pup, "kitchen"), (stranger, moss.id, "kitchen"), (actor, moss.id, "on-its-head")):
        assert push(asks, start_of_mat(dog, step, pup_session, now)).status.value == "rejected"
    assert Programme.objects.count() == 1


def test_mat_looks_as_far_ahead_on_a_phone_as_where_its_practice_is_opened_anew(
    actor: Actor, moss: Dog, now: datetime
) -> None:
    open_practice(actor, moss, now=now)
    later = now + AHEAD - timedelta(days=3)
    before = find_mat_start(actor, moss, now=later)
    open_practice(actor, moss, now=later)
    after = find_mat_start(actor, moss, now=later)
    assert before is not None
    assert after is not None
    assert before.days_left == after.days_left == AHEAD.days


def test_goal_that_is_no_lying_is_not_practised_on_the_mat(actor: Actor, moss: Dog, now: datetime) -> None:
    practice = open_practice(actor, moss, now=now)
    for weight, key, asked in ((5, "loose-lead", "settle-on-mat"), (2, "stay", "stay")):
        Goal.objects.create(
            workspace_id=actor.workspace_id, programme=practice, behaviour=key, step="half-minute", weight=weight
        )
        assert mat_of(practice).key == asked
