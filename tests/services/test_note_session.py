"""A note is another event of a session's log, also after the session has ended."""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.services.note_session import note_session
from pupilage.services.read_session import read_session
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, SessionEvent

pytestmark = pytest.mark.django_db

LONGEST = 5000


@pytest.fixture
def session(actor: Actor, programme: UUID, new_session: object) -> UUID:
    step = load_catalogue().behaviours["sit"].steps[0].key
    return new_session(actor, programme, "sit", step, ["met", "missed", "met"])


def note(actor: Actor, session: UUID, text: str, now: datetime) -> None:
    note_session(actor, session, text, device_id=uuid4(), tz_offset_min=60, now=now)


def notes_of(session: UUID) -> list[str]:
    rows = SessionEvent.objects.filter(session_id=session, kind="note").order_by("at", "received_at")
    return [row.payload["text"] for row in rows]


def test_note_after_the_end_stands_in_the_log_and_on_the_page(actor: Actor, session: UUID, now: datetime) -> None:
    before = read_session(actor, session, now=now).record
    note(actor, session, "  A lorry passed.\n", now)
    page = read_session(actor, session, now=now)
    assert before.ended_at is not None
    assert notes_of(session) == ["A lorry passed."]
    assert page.record.notes == (*before.notes, "A lorry passed.")
    assert (page.record.trials, page.record.ended_at) == (before.trials, before.ended_at)


def test_each_call_is_another_note_and_none_replaces_one(actor: Actor, session: UUID, now: datetime) -> None:
    note(actor, session, "Wind.", now)
    note(actor, session, "Wind.", now + timedelta(seconds=1))
    note(actor, session, "Rain.", now + timedelta(seconds=2))
    assert notes_of(session) == ["Wind.", "Wind.", "Rain."]


def test_note_leaves_one_audit_row(actor: Actor, session: UUID, now: datetime) -> None:
    n_before = AuditEntry.objects.count()
    note(actor, session, "Wind.", now)
    assert AuditEntry.objects.count() == n_before + 1


@pytest.mark.parametrize("text", ["", "   ", "\n\t"])
def test_empty_note_is_refused_with_what_to_do(actor: Actor, session: UUID, now: datetime, text: str) -> None:
    with pytest.raises(InvalidInput, match="write something first"):
        note(actor, session, text, now)
    assert notes_of(session) == []


def test_note_is_as_long_as_its_limit_and_no_longer(actor: Actor, session: UUID, now: datetime) -> None:
    note(actor, session, "a" * LONGEST, now)
    with pytest.raises(InvalidInput) as refused:
        note(actor, session, "a" * (LONGEST + 1), now)
    assert [problem.where for problem in refused.value.problems] == ["text"]
    assert notes_of(session) == ["a" * LONGEST]


def test_unknown_session_stranger_and_reader_write_none(
    actor: Actor, stranger: Actor, reader: Actor, session: UUID, now: datetime
) -> None:
    with pytest.raises(NotFound):
        note(actor, uuid4(), "Wind.", now)
    with pytest.raises(NotFound):
        note(stranger, session, "Wind.", now)
    with pytest.raises(Forbidden):
        note(reader, session, "Wind.", now)
    assert notes_of(session) == []
