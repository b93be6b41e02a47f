"""A trial is put right by another event: nothing is overwritten."""

from datetime import datetime
from uuid import UUID, uuid4

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, NotFound
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.correct_trial import Correction, correct_trial
from pupilage.services.read_session import read_session
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, SessionEvent, Trial

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(actor: Actor, programme: UUID, new_session: object) -> UUID:
    step = load_catalogue().behaviours["sit"].steps[0].key
    return new_session(actor, programme, "sit", step, ["met", "missed", "met"])


def put_right(actor: Actor, session: UUID, event: UUID, outcome: Outcome | None, now: datetime) -> None:
    correct_trial(actor, session, Correction(event, outcome), device_id=uuid4(), tz_offset_min=60, now=now)


def test_newest_correction_stands(actor: Actor, session: UUID, now: datetime) -> None:
    event = Trial.objects.order_by("at").first().event_id
    put_right(actor, session, event, Outcome.HELPED, now)
    put_right(actor, session, event, Outcome.VOID, now.replace(minute=31))
    page = read_session(actor, session, now=now)
    assert [trial.outcome for trial in page.record.trials] == [Outcome.VOID, Outcome.MISSED, Outcome.MET]
    assert SessionEvent.objects.filter(kind="corrected").count() == 2


def test_correction_leaves_one_audit_row(actor: Actor, session: UUID, now: datetime) -> None:
    n_before = AuditEntry.objects.count()
    put_right(actor, session, Trial.objects.first().event_id, Outcome.VOID, now)
    assert AuditEntry.objects.count() == n_before + 1


def test_what_stands_already_writes_nothing(actor: Actor, session: UUID, now: datetime) -> None:
    trial = Trial.objects.order_by("at").first()
    put_right(actor, session, trial.event_id, Outcome.MET, now)
    assert not SessionEvent.objects.filter(kind="corrected").exists()


def test_reader_may_not_put_right(reader: Actor, session: UUID, now: datetime) -> None:
    with pytest.raises(Forbidden):
        put_right(reader, session, Trial.objects.first().event_id, Outcome.VOID, now)


def test_stranger_finds_no_session(stranger: Actor, session: UUID, now: datetime) -> None:
    with pytest.raises(NotFound):
        put_right(stranger, session, Trial.objects.first().event_id, Outcome.VOID, now)


def test_event_that_is_no_trial_is_not_found(actor: Actor, session: UUID, now: datetime) -> None:
    start = SessionEvent.objects.get(kind="session-started")
    with pytest.raises(NotFound):
        put_right(actor, session, start.event_id, None, now)
