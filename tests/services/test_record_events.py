"""Writing events: judged one by one, stored once, the same record for any order and split."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, Forbidden, InvalidInput
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.record_events import MAX_EVENTS_A_CALL, Status, record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, Device, SessionEvent, TrainingSession, Trial

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
PHONE = str(uuid4())


def first_step(behaviour: str = "sit") -> str:
    return load_catalogue().behaviours[behaviour].steps[0].key


def a_session(programme_id: UUID, outcomes: str = "mmxmh", *, end: bool = True) -> list[Event]:
    """Return the events of a session: m met, x missed, h helped, a second apart."""
    words = {"m": "met", "x": "missed", "h": "helped"}
    session = str(uuid4())
    start = {"programme": str(programme_id), "behaviour": "sit", "step": first_step(), "pieces": 20}
    entries: list[tuple[EventKind, dict[str, object]]] = [(EventKind.SESSION_STARTED, start)]
    entries += [(EventKind.TRIAL, {"outcome": words[letter], "pieces": 1}) for letter in outcomes]
    if end:
        entries.append((EventKind.SESSION_ENDED, {}))
    return [
        Event(str(uuid4()), PHONE, n, session, kind, NOW + timedelta(seconds=n), 60, payload)
        for n, (kind, payload) in enumerate(entries)
    ]


def trials_of(session_id: str) -> list[tuple[str, str]]:
    rows = Trial.objects.filter(session_id=session_id).order_by("at", "id")
    return [(str(row.event_id), row.outcome) for row in rows]


def test_batch_becomes_a_session_with_its_trials(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    verdicts = record_events(actor, events, now=NOW)
    assert [verdict.status for verdict in verdicts] == [Status.STORED] * 7
    session = TrainingSession.objects.get(id=events[0].session_id)
    assert session.pieces_given == 5
    assert session.ended_at == events[-1].at
    assert session.criterion["place"]
    assert [outcome for _, outcome in trials_of(events[0].session_id)] == ["met", "met", "missed", "met", "helped"]


def test_second_push_of_same_batch_stores_nothing(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    record_events(actor, events, now=NOW)
    before = SessionEvent.objects.count(), trials_of(events[0].session_id)
    verdicts = record_events(actor, events, now=NOW + timedelta(hours=1))
    assert {verdict.status for verdict in verdicts} == {Status.DUPLICATE}
    assert (SessionEvent.objects.count(), trials_of(events[0].session_id)) == before


def test_same_event_twice_in_one_batch_is_stored_once(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    verdicts = record_events(actor, [events[0], events[1], events[1]], now=NOW)
    assert [verdict.status for verdict in verdicts] == [Status.STORED, Status.STORED, Status.DUPLICATE]


def test_trials_that_arrive_before_their_start_wait_in_the_log(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    record_events(actor, events[1:], now=NOW)
    assert not TrainingSession.objects.filter(id=events[0].session_id).exists()
    record_events(actor, events[:1], now=NOW)
    assert len(trials_of(events[0].session_id)) == 5


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_any_order_and_any_split_give_the_same_trials(actor: Actor, programme: UUID, data: st.DataObject) -> None:
    events = a_session(programme, "mxhm")
    order = data.draw(st.permutations(events))
    cut = data.draw(st.integers(0, len(order)))
    record_events(actor, order[:cut], now=NOW)
    record_events(actor, order[cut:], now=NOW)
    record_events(actor, order[: cut // 2], now=NOW)
    assert [outcome for _, outcome in trials_of(events[0].session_id)] == ["met", "missed", "helped", "met"]


def test_bad_event_is_rejected_alone_and_says_why(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    broken = Event(str(uuid4()), PHONE, 99, events[0].session_id, EventKind.TRIAL, NOW, 0, {"outcome": "good"})
    verdicts = record_events(actor, [*events, broken], now=NOW)
    assert [verdict.status for verdict in verdicts[:-1]] == [Status.STORED] * 7
    assert verdicts[-1].status is Status.REJECTED
    assert verdicts[-1].code == "invalid"
    assert "good" in str(verdicts[-1].reason)


@pytest.mark.parametrize(
    ("change", "word"),
    [({"behaviour": "flying"}, "flying"), ({"step": "step-99"}, "step-99"), ({"programme": str(uuid4())}, "programme")],
)
def test_start_with_something_unknown_is_rejected(
    actor: Actor, programme: UUID, change: dict[str, str], word: str
) -> None:
    start = a_session(programme)[0]
    changed = Event(start.id, PHONE, 0, start.session_id, start.kind, NOW, 0, {**start.payload, **change})
    (verdict,) = record_events(actor, [changed], now=NOW)
    assert verdict.status is Status.REJECTED
    assert word in str(verdict.reason)
    assert not TrainingSession.objects.exists()


def test_unknown_step_change_is_rejected_and_names_the_steps(actor: Actor, programme: UUID) -> None:
    events = a_session(programme, end=False)
    record_events(actor, events, now=NOW)
    change = Event(str(uuid4()), PHONE, 50, events[0].session_id, EventKind.STEP_CHANGED, NOW, 0, {"step": "moon"})
    (verdict,) = record_events(actor, [change], now=NOW)
    assert verdict.status is Status.REJECTED
    assert first_step() in str(verdict.reason)


def test_naive_instant_is_rejected(actor: Actor, programme: UUID) -> None:
    events = a_session(programme)
    naive = Event(
        str(uuid4()), PHONE, 9, events[0].session_id, EventKind.NOTE, NOW.replace(tzinfo=None), 0, {"text": "x"}
    )
    (verdict,) = record_events(actor, [naive], now=NOW)
    assert verdict.status is Status.REJECTED
    assert "time zone" in str(verdict.reason)


def test_stranger_cannot_start_a_session_in_anothers_programme(stranger: Actor, programme: UUID) -> None:
    (verdict,) = record_events(stranger, a_session(programme)[:1], now=NOW)
    assert verdict.status is Status.REJECTED
    assert verdict.code == "not-found"


def test_stranger_cannot_add_to_anothers_session(actor: Actor, stranger: Actor, programme: UUID) -> None:
    events = a_session(programme, "mm", end=False)
    record_events(actor, events, now=NOW)
    intruder = Event(str(uuid4()), PHONE, 70, events[0].session_id, EventKind.TRIAL, NOW, 0, {"outcome": "missed"})
    record_events(stranger, [intruder], now=NOW)
    assert [outcome for _, outcome in trials_of(events[0].session_id)] == ["met", "met"]


def test_reader_may_not_write(reader: Actor, programme: UUID) -> None:
    with pytest.raises(Forbidden):
        record_events(reader, a_session(programme), now=NOW)
    assert not SessionEvent.objects.exists()


def test_more_than_200_events_are_refused_whole(actor: Actor, programme: UUID) -> None:
    events = a_session(programme, "m" * (MAX_EVENTS_A_CALL + 1))
    with pytest.raises(InvalidInput, match="200"):
        record_events(actor, events, now=NOW)
    assert not SessionEvent.objects.exists()


def test_log_refuses_to_be_changed_or_deleted(actor: Actor, programme: UUID) -> None:
    record_events(actor, a_session(programme), now=NOW)
    row = SessionEvent.objects.first()
    assert row is not None
    row.kind = "note"
    with pytest.raises(Conflict):
        row.save()
    with pytest.raises(Conflict):
        row.delete()
    with pytest.raises(Conflict):
        SessionEvent.objects.all().delete()
    with pytest.raises(Conflict):
        SessionEvent.objects.update(kind="note")


def test_one_call_leaves_one_audit_row_and_knows_the_device(actor: Actor, programme: UUID) -> None:
    before = AuditEntry.objects.count()
    record_events(actor, a_session(programme), now=NOW)
    assert AuditEntry.objects.count() == before + 1
    assert str(Device.objects.get(workspace_id=actor.workspace_id, device_id=PHONE).device_id) == PHONE


def test_correction_of_an_ended_session_folds_it_again(actor: Actor, programme: UUID) -> None:
    events = a_session(programme, "mm")
    record_events(actor, events, now=NOW)
    correction = Event(
        str(uuid4()), PHONE, 80, events[0].session_id, EventKind.CORRECTED, NOW + timedelta(hours=2), 0,
        {"event": events[1].id, "outcome": "missed"},
    )  # fmt: skip
    record_events(actor, [correction], now=NOW)
    assert [outcome for _, outcome in trials_of(events[0].session_id)] == ["missed", "met"]
    assert SessionEvent.objects.count() == 5


def test_one_tap_takes_few_queries(
    actor: Actor, programme: UUID, django_assert_max_num_queries: Callable[[int], CaptureQueriesContext]
) -> None:
    events = a_session(programme, "m" * 30, end=False)
    record_events(actor, events[:-1], now=NOW)
    with django_assert_max_num_queries(20):
        record_events(actor, events[-1:], now=NOW)
    assert connection.queries_limit
