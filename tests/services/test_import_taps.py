"""A phone's file of taps goes into the log once, whatever way else the taps come."""

import json
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput
from pupilage.services.event_body import EventBody
from pupilage.services.import_taps import import_taps
from pupilage.services.read_owner import read_owner
from pupilage.services.record_events import record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import SessionEvent
from pupilage.storage.models import Trial as TrialRow

pytestmark = pytest.mark.django_db


def events_of(programme: UUID, now: datetime, n_trials: int) -> list[dict[str, object]]:
    session, device = str(uuid4()), str(uuid4())
    step = load_catalogue().behaviours["sit"].steps[0].key
    start = {"programme": str(programme), "behaviour": "sit", "step": step, "pieces": None}
    entries = [("session-started", start), *[("trial", {"outcome": "met", "pieces": 1})] * n_trials]
    return [
        {
            "id": str(uuid4()), "device_id": device, "device_seq": n, "session_id": session, "kind": kind,
            "at": (now - timedelta(minutes=9) + timedelta(seconds=n)).isoformat(), "tz_offset_min": 60,
            "payload": payload,
        }
        for n, (kind, payload) in enumerate(entries)
    ]  # fmt: skip


def file_of(owner: str, events: list[object], **more: object) -> bytes:
    taps = [{"owner": owner, "event": event} for event in events]
    return json.dumps({"format": "pupilage-taps", "version": 1, "taps": taps, **more}).encode()


def test_taps_of_a_file_are_stored_once(actor: Actor, programme: UUID, now: datetime) -> None:
    events = events_of(programme, now, 260)
    content = file_of(read_owner(actor), events)
    first = import_taps(actor, content, now=now)
    assert (first.n_stored, first.n_known, first.n_others, first.refused) == (261, 0, 0, ())
    again = import_taps(actor, content, now=now)
    assert (again.n_stored, again.n_known) == (0, 261)
    assert SessionEvent.objects.count() == 261
    assert TrialRow.objects.count() == 260


def test_taps_that_the_phone_has_sent_meanwhile_are_known(actor: Actor, programme: UUID, now: datetime) -> None:
    events = events_of(programme, now, 5)
    record_events(actor, [EventBody.model_validate(event).event() for event in events[:3]], now=now)
    found = import_taps(actor, file_of(read_owner(actor), events), now=now)
    assert (found.n_stored, found.n_known) == (3, 3)


def test_taps_of_another_account_are_left_out_unless_asked_for(actor: Actor, programme: UUID, now: datetime) -> None:
    content = file_of("before/the/restore", events_of(programme, now, 2))
    assert import_taps(actor, content, now=now).n_others == 3
    assert SessionEvent.objects.count() == 0
    assert import_taps(actor, content, now=now, whoever=True).n_stored == 3


def test_a_tap_that_is_none_is_left_out_alone(actor: Actor, programme: UUID, now: datetime) -> None:
    events: list[object] = [*events_of(programme, now, 1), {"id": "7"}, "tap", None]
    events[1]["payload"] = {"outcome": "splendid"}  # type: ignore[index]
    found = import_taps(actor, file_of(read_owner(actor), events), now=now)
    assert found.n_stored == 1
    assert len(found.refused) == 4


@pytest.mark.parametrize(
    "content", [b"", b"{", b"[]", b'{"format": "pupilage-taps"}', b"\xff\xfe", b'{"format": "x", "taps": []}']
)
def test_what_is_no_file_of_taps_is_refused(actor: Actor, content: bytes, now: datetime) -> None:
    with pytest.raises(InvalidInput, match="no file of taps"):
        import_taps(actor, content, now=now)


def test_a_later_version_is_refused(actor: Actor, now: datetime) -> None:
    with pytest.raises(InvalidInput, match="version 2"):
        import_taps(actor, file_of("x", [], version=2), now=now)


def test_reader_may_not_import(reader: Actor, now: datetime) -> None:
    with pytest.raises(Forbidden):
        import_taps(reader, file_of("x", []), now=now)
