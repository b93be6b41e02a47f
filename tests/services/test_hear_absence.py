"""The bouts of a recording become the signs of the absence that it is of, by the two clocks."""

from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.absences import AbsenceRecord, SignAt, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.reading import Purpose
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.hear_absence import hear_absence, read_home
from pupilage.services.judge_recording import Judgement, judge_events
from pupilage.services.log_absence import log_absence
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.storage.models import Absence, User
from pupilage.storage.queries.absences import absence_of
from pupilage.storage.queries.recordings import list_recording_events, recording_readable_by

BARKS = [Event(40.0 + 3.0 * n, 40.4 + 3.0 * n, EventKind.BARK, "", confidence=0.9) for n in range(4)]
NOISY = ["The television is on; this recording cannot tell.", {}]


@pytest.fixture
def left_at(now: datetime) -> datetime:
    return now - timedelta(hours=2)


@pytest.fixture
def absence(actor: Actor, dog: UUID, now: datetime, left_at: datetime) -> UUID:
    """An absence of two minutes that nobody watched."""
    record = AbsenceRecord(str(uuid4()), left_at, 120.0, watched=Watched.NOT)
    return log_absence(actor, dog, record, now=now)


@pytest.fixture
def record_home(actor: Actor, dog: UUID, now: datetime, left_at: datetime):
    """Return a function that brings in a recording that began 10 s before the door shut, with four barks in it."""

    def make(*, purpose: Purpose = Purpose.ALONE, doubt: object = None) -> UUID:
        new = NewRecording("hall.wav", 4, purpose=purpose, began_at=left_at - timedelta(seconds=10))
        recording_id = begin_recording(actor, dog, new, now=now)
        add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
        heard = Heard([(bark, None) for bark in BARKS], duration_s=130.0, result={"doubt": doubt})
        read_waiting("reader", lambda _recording, _told: heard, lambda: now)
        return recording_id

    return make


def standing(absence_id: UUID) -> AbsenceRecord:
    return absence_of(Absence.objects.get(id=absence_id))


def test_a_bout_becomes_a_sign_at_its_time_after_the_door(actor: Actor, absence: UUID, record_home, now) -> None:
    recording = record_home()
    page = read_home(actor, recording)
    assert page is not None
    assert ([one.id for one in page.absences], len(page.alone.bouts)) == ([str(absence)], 1)
    new = hear_absence(actor, recording, absence, now=now)
    assert standing(new).signs == (SignAt(Sign.BARKING, 30.0),)
    assert standing(new).watched is Watched.RECORDING
    assert Absence.objects.get(id=absence).taken_back_at is not None


def test_what_was_judged_wrong_is_no_sign(actor: Actor, absence: UUID, record_home, now) -> None:
    recording = record_home()
    events = list_recording_events(recording_readable_by(actor, recording))
    wrong = [Judgement(UUID(event.id), EventState.REJECTED) for event in events]
    judge_events(actor, recording, wrong, now=now)
    assert standing(hear_absence(actor, recording, absence, now=now)).signs == ()


def test_in_a_noisy_home_only_what_was_confirmed_counts(actor: Actor, absence: UUID, record_home, now) -> None:
    recording = record_home(doubt=NOISY)
    page = read_home(actor, recording)
    assert page is not None
    assert (str(page.doubt), page.alone.bouts) == (NOISY[0], ())
    events = list_recording_events(recording_readable_by(actor, recording))
    judge_events(actor, recording, [Judgement(UUID(one.id), EventState.CONFIRMED) for one in events], now=now)
    assert standing(hear_absence(actor, recording, absence, now=now)).signs == (SignAt(Sign.BARKING, 30.0),)


def test_a_session_has_no_time_alone(actor: Actor, absence: UUID, record_home, now) -> None:
    recording = record_home(purpose=Purpose.SESSION)
    assert read_home(actor, recording) is None
    with pytest.raises(InvalidInput, match="is not of the pup alone"):
        hear_absence(actor, recording, absence, now=now)


def test_an_absence_of_another_day_is_refused(actor: Actor, dog: UUID, record_home, now, left_at) -> None:
    other = log_absence(actor, dog, AbsenceRecord(str(uuid4()), left_at - timedelta(days=2), 60.0), now=now)
    recording = record_home()
    with pytest.raises(InvalidInput, match="Choose an absence of that day"):
        hear_absence(actor, recording, other, now=now)


def test_who_may(actor, reader, stranger, absence, record_home, now) -> None:
    recording = record_home()
    with pytest.raises(Forbidden):
        hear_absence(reader, recording, absence, now=now)
    with pytest.raises(NotFound):
        hear_absence(stranger, recording, absence, now=now)
    with pytest.raises(NotFound):
        read_home(replace(actor, workspace_id=stranger.workspace_id), recording)


def test_the_page_offers_the_absence_and_takes_it(
    actor: Actor, absence: UUID, record_home, now, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now)
    client = Client()
    client.force_login(User.objects.get(id=actor.user_id))
    recording = record_home()
    page = client.get(reverse("recording", args=[recording])).content.decode()
    assert "40\xa0s after its start" in page
    assert "Let the bouts be its signs" in page
    assert reverse("recording-count", args=[recording]) not in page
    answer = client.post(reverse("recording-absence", args=[recording]), {"absence": str(absence)}, follow=True)
    assert "Its bouts are signs of that absence now." in answer.content.decode()
    assert client.post(reverse("recording-absence", args=[recording]), {}).status_code == 400
