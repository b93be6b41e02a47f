"""A stay's tries as a sheet: read back, they are the same tries, with the place and the handler of their sessions."""

import csv
import io
from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.errors import NotFound
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.export_trials import export_trials
from pupilage.services.import_trials import ImportOptions, import_trials
from pupilage.services.record_events import record_events
from pupilage.storage.models import TrainingSession
from pupilage.storage.models import Trial as TrialRow

OUTCOMES = ["met", "missed", "helped", "void", "met"]
NAMES = [("Old mill", "Ida"), ("", ""), ('Müllers Hof; "hinten"', "=Bo"), ("小虎家\t", "")]


@pytest.fixture
def filled(actor, programme, new_session, now):
    """A stay with sessions at places and with people, and holds of every kind."""
    for n, (place, handler) in enumerate(NAMES):
        at = now - timedelta(days=3, hours=-n)
        new_session(actor, programme, "sit", "word", OUTCOMES, at=at, place=place, handler=handler)
    holds(actor, programme, new_session(actor, programme, "stay", "five-seconds", [], end=False), now)
    return programme


def holds(actor, programme, session, now):
    """Write a hold released late, one released early, one broken early, one broken late, and one put right."""
    device, events = str(uuid4()), []

    def write(kind, **payload):
        at = now - timedelta(minutes=30) + timedelta(seconds=len(events))
        events.append(Event(str(uuid4()), device, len(events), str(session), kind, at, 60, payload))
        return events[-1].id

    for kind, held_s in (
        (EventKind.HOLD_RELEASED, 6.25), (EventKind.HOLD_RELEASED, 2.5), (EventKind.HOLD_BROKE, 3.125),
        (EventKind.HOLD_BROKE, 7.0), (EventKind.HOLD_BROKE, 4.75),
    ):  # fmt: skip
        start = write(EventKind.HOLD_STARTED, target_s=5.0)
        last = write(kind, hold=start, held_s=held_s, pieces=2)
    write(EventKind.CORRECTED, event=last, outcome="met")
    verdicts = record_events(actor, events, now=now)
    assert [one.reason for one in verdicts] == [None] * len(events)


def rows_of(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_sheet_names_place_and_handler_of_every_try(actor, filled):
    found = rows_of(export_trials(actor, filled))
    assert len(found) == 25
    assert [(row["place"], row["handler"]) for row in found[:20:5]] == [
        ("Old mill", "Ida"), ("", ""), ("Müllers Hof; \"hinten\"", "'=Bo"), ("小虎家", ""),
    ]  # fmt: skip
    assert [(row["outcome"], row["broke"]) for row in found[20:]] == [
        ("met", "no"), ("void", "no"), ("missed", "yes"), ("met", "yes"), ("met", "yes"),
    ]  # fmt: skip


def test_export_then_import_elsewhere_then_export_gives_the_same_bytes(actor, filled, stranger, new_programme, now):
    sheet = export_trials(actor, filled)
    other = new_programme(stranger)
    done = import_trials(stranger, other, sheet.encode("utf-8-sig"), ImportOptions(), now=now)
    assert (done.n_added, done.n_sessions, done.bad) == (25, 5, ())
    assert export_trials(stranger, other) == sheet
    sessions = TrainingSession.objects.filter(programme_id=other).order_by("started_at")
    assert list(sessions.values_list("place", "handler"))[:4] == [(place.strip(), who) for place, who in NAMES]
    columns = ("event_id", "behaviour", "step", "kind", "outcome", "latency_s", "held_s", "target_s", "broke", "pieces")
    both = [
        TrialRow.objects.filter(programme_id=one).order_by("at", "id").values_list(*columns) for one in (filled, other)
    ]
    assert list(both[0]) == list(both[1])


def test_own_sheet_read_back_into_its_own_stay_adds_nothing(actor, filled, now):
    done = import_trials(actor, filled, export_trials(actor, filled).encode(), ImportOptions(), now=now)
    assert (done.n_added, done.n_known) == (0, 25)


def test_stay_without_tries_is_a_header_alone(actor, programme):
    assert rows_of(export_trials(actor, programme)) == []


def test_stranger_gets_no_sheet(stranger, filled):
    with pytest.raises(NotFound):
        export_trials(stranger, filled)
