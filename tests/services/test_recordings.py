"""Recordings: bytes in pieces, a reader that may die, judgements that stay, deletion that deletes."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from pytest_django.plugin import DjangoDbBlocker

from file_databases import file_database
from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound, StorageTrouble
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.reading import ReadingState
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.bring_recording import NewRecording, add_bytes, add_captions, begin_recording
from pupilage.services.delete_recording import delete_recording, delete_sound
from pupilage.services.judge_recording import AddedEvent, Judgement, add_event, judge_events, take_judgement_back
from pupilage.services.long_work import Told, is_work_left
from pupilage.services.read_waiting import Heard, cancel_reading, read_again, read_waiting
from pupilage.storage.models import Recording, RecordingEvent, VoiceSample
from pupilage.storage.queries.recordings import list_recording_events, recording_readable_by
from pupilage.storage.recording_files import recording_file

BYTES = bytes(range(256)) * 40
NEW = NewRecording("garden.mp4", len(BYTES))
CUE = Event(1.0, 1.4, EventKind.CUE, "sit", confidence=0.9, behaviour="sit")
YES = Event(2.0, 2.3, EventKind.MARKER, "yes", confidence=0.5)


def hear_two(_recording: Recording, told: Told) -> Heard:
    told(0.5)
    return Heard([(CUE, b"12"), (YES, None)], duration_s=60.0, quality={"noise": -50})


@pytest.fixture
def brought(actor: Actor, dog: UUID, now: datetime) -> UUID:
    """The id of a recording whose bytes have all arrived."""
    recording_id = begin_recording(actor, dog, NEW, now=now)
    add_bytes(actor, recording_id, 0, [BYTES], now=now)
    return recording_id


@pytest.fixture
def heard(actor: Actor, brought: UUID, now: datetime) -> Recording:
    """A recording in which a cue and a marker were heard."""
    assert read_waiting("reader", hear_two, lambda: now) == brought
    return recording_readable_by(actor, brought)


def events_of(recording: Recording) -> list[Event]:
    return list_recording_events(recording)


def event_id(recording: Recording, label: str) -> UUID:
    return next(UUID(event.id) for event in events_of(recording) if event.label == label)


def test_bytes_sent_in_pieces_are_the_file(actor: Actor, dog: UUID, now: datetime) -> None:
    recording_id = begin_recording(actor, dog, NEW, now=now)
    assert add_bytes(actor, recording_id, 0, [BYTES[:5000]], now=now) == 5000
    assert add_bytes(actor, recording_id, 0, [BYTES[:5000]], now=now) == 5000, "a piece sent twice is written once"
    assert add_bytes(actor, recording_id, 5000, [BYTES[5000:7000], BYTES[7000:]], now=now) == len(BYTES)
    assert recording_file(recording_id).read_bytes() == BYTES
    assert recording_readable_by(actor, recording_id).state == ReadingState.WAITING


def test_no_more_bytes_are_kept_than_were_promised(actor: Actor, dog: UUID, now: datetime) -> None:
    recording_id = begin_recording(actor, dog, NEW, now=now)
    assert add_bytes(actor, recording_id, 0, [BYTES, b"more"], now=now) == len(BYTES)
    assert recording_file(recording_id).read_bytes() == BYTES


def test_a_piece_behind_a_gap_is_refused_and_says_where_to_go_on(actor: Actor, dog: UUID, now: datetime) -> None:
    recording_id = begin_recording(actor, dog, NEW, now=now)
    add_bytes(actor, recording_id, 0, [BYTES[:100]], now=now)
    with pytest.raises(Conflict, match="100 bytes have arrived"):
        add_bytes(actor, recording_id, 200, [BYTES[200:]], now=now)


def test_the_same_bytes_twice_are_brought_in_once(actor: Actor, dog: UUID, brought: UUID, now: datetime) -> None:
    again = begin_recording(actor, dog, replace(NEW, file_name="copy.mp4"), now=now)
    with pytest.raises(Conflict, match=r"“copy\.mp4” was brought in before, as “garden\.mp4”"):
        add_bytes(actor, again, 0, [BYTES], now=now)
    assert not recording_file(again).exists()
    assert Recording.objects.count() == 1


@pytest.mark.parametrize(
    ("new", "says"),
    [
        (replace(NEW, file_name="notes.pdf"), "is no sound, video or captions"),
        (replace(NEW, size_bytes=0), "is empty"),
        (replace(NEW, size_bytes=50 << 30), "Cut it in parts"),
        (replace(NEW, began_at=datetime.fromisoformat("2026-05-12T10:00+00:00")), "cannot begin in the future"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(
    actor: Actor, dog: UUID, now: datetime, new: NewRecording, says: str
) -> None:
    with pytest.raises(InvalidInput, match=says):
        begin_recording(actor, dog, new, now=now)


def test_a_full_disk_is_said_before_the_first_byte(
    actor: Actor, dog: UUID, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil._ntuple_diskusage(10**12, 10**12, 10**9)  # type: ignore[attr-defined]
    monkeypatch.setattr("shutil.disk_usage", lambda _folder: usage)
    with pytest.raises(StorageTrouble, match=r"has 10000 MB and the disk .* has 1000 MB free"):
        begin_recording(actor, dog, replace(NEW, size_bytes=10**10), now=now)
    assert not Recording.objects.exists()


def test_others_neither_see_nor_send_nor_judge(
    actor: Actor, stranger: Actor, reader: Actor, heard: Recording, now: datetime
) -> None:
    with pytest.raises(NotFound):
        recording_readable_by(stranger, heard.id)
    for who, refusal in ((stranger, NotFound), (reader, Forbidden)):
        for act in (
            lambda who=who: add_bytes(who, heard.id, 0, [b""], now=now),
            lambda who=who: judge_events(who, heard.id, [], now=now),
            lambda who=who: take_judgement_back(who, heard.id, now=now),
            lambda who=who: cancel_reading(who, heard.id, now=now),
            lambda who=who: delete_recording(who, heard.id, now=now),
        ):
            with pytest.raises(refusal):
                act()


def test_a_reader_writes_what_it_heard(heard: Recording) -> None:
    assert heard.state == ReadingState.READ
    assert (heard.duration_s, heard.quality) == (60.0, {"noise": -50})
    assert [(event.label, event.state) for event in events_of(heard)] == [
        ("sit", EventState.SUGGESTED),
        ("yes", EventState.SUGGESTED),
    ]


def test_nothing_waits_when_all_is_read(heard: Recording, now: datetime) -> None:
    assert read_waiting("reader", hear_two, lambda: now) is None


def test_what_goes_wrong_stands_with_the_recording_and_nothing_is_half_kept(
    actor: Actor, brought: UUID, now: datetime
) -> None:
    def hear(_recording: Recording, _told: Told) -> Heard:
        raise InvalidInput.of("file", "“{file}” has no sound track; film with the sound on.", file="garden.mp4")

    read_waiting("reader", hear, lambda: now)
    failed = recording_readable_by(actor, brought)
    assert failed.state == ReadingState.FAILED
    assert "no sound track" in str(failed.failure)
    assert not RecordingEvent.objects.exists()
    read_again(actor, brought, now=now)
    assert read_waiting("reader", hear_two, lambda: now) == brought


def test_a_reading_that_is_called_off_keeps_nothing(actor: Actor, brought: UUID, now: datetime) -> None:
    def hear(_recording: Recording, told: Told) -> Heard:
        told(0.1)
        cancel_reading(actor, brought, now=now)
        return hear_two(_recording, lambda _share: None)

    read_waiting("reader", hear, lambda: now)
    assert recording_readable_by(actor, brought).state == ReadingState.CANCELLED
    assert not RecordingEvent.objects.exists()


@pytest.mark.parametrize("ends", [cancel_reading, delete_recording])
def test_an_arrival_that_is_called_off_leaves_nothing_not_even_of_a_piece_under_way(
    actor: Actor, dog: UUID, now: datetime, ends: Callable[..., None]
) -> None:
    recording_id = begin_recording(actor, dog, NEW, now=now)
    add_bytes(actor, recording_id, 0, [BYTES[:5000]], now=now)

    def blocks() -> Iterator[bytes]:
        yield BYTES[5000:6000]
        ends(actor, recording_id, now=now)
        yield BYTES[6000:]

    with pytest.raises(NotFound, match="called off or deleted while it arrived"):
        add_bytes(actor, recording_id, 5000, blocks(), now=now)
    assert not Recording.objects.exists()
    assert not list(recording_file(recording_id).parent.iterdir())
    again = begin_recording(actor, dog, replace(NEW, recording_id=recording_id), now=now)
    assert add_bytes(actor, again, 0, [BYTES], now=now) == len(BYTES), "the same file may be chosen again"


def test_what_a_reader_had_before_it_died_is_taken_over_at_once_under_its_name(
    actor: Actor, brought: UUID, now: datetime
) -> None:
    class Died(BaseException):
        pass

    def die(_recording: Recording, told: Told) -> Heard:
        told(0.3)
        raise Died

    with pytest.raises(Died):
        read_waiting("reader of this machine", die, lambda: now)
    assert is_work_left()
    assert read_waiting("another", hear_two, lambda: now) is None, "the first may still be alive"
    assert read_waiting("reader of this machine", hear_two, lambda: now) == brought
    assert not is_work_left()


def test_a_reader_that_died_is_replaced_after_a_minute_and_cannot_come_back(
    actor: Actor, brought: UUID, now: datetime
) -> None:
    def hear(recording: Recording, told: Told) -> Heard:
        told(0.1)
        later = now + timedelta(seconds=30)
        assert read_waiting("other", hear_two, lambda: later) is None, "the first may still be alive"
        assert read_waiting("other", hear_two, lambda: now + timedelta(seconds=61)) == brought
        return Heard([(CUE, None), (CUE, None), (CUE, None)], duration_s=1.0)

    read_waiting("dead", hear, lambda: now)
    recording = recording_readable_by(actor, brought)
    assert (recording.worker, recording.duration_s) == ("other", 60.0)
    assert len(events_of(recording)) == 2


def test_a_judgement_stands_and_can_be_taken_back(actor: Actor, heard: Recording, now: datetime) -> None:
    sit = event_id(heard, "sit")
    wrong = Judgement(sit, EventState.REJECTED, judgement_id=uuid4())
    assert judge_events(actor, heard.id, [wrong], now=now) == 1
    assert judge_events(actor, heard.id, [wrong], now=now) == 0, "sent twice is written once"
    other = Judgement(sit, EventState.CONFIRMED, label="down", behaviour="down", start_s=1.1, outcome=Outcome.MET)
    judge_events(actor, heard.id, [other], now=now)
    stands = events_of(heard)[0]
    assert (stands.label, stands.start_s, stands.state) == ("down", 1.1, EventState.CONFIRMED)
    assert take_judgement_back(actor, heard.id, now=now) == sit
    assert events_of(heard)[0].state is EventState.REJECTED
    take_judgement_back(actor, heard.id, now=now)
    assert events_of(heard)[0].state is EventState.SUGGESTED
    assert take_judgement_back(actor, heard.id, now=now) is None


def test_an_event_added_by_hand_is_confirmed(actor: Actor, heard: Recording, now: datetime) -> None:
    added = AddedEvent(30.0, EventKind.CUE, "down", "down", event_id=uuid4())
    assert add_event(actor, heard.id, added, now=now) == add_event(actor, heard.id, added, now=now)
    assert [event.state for event in events_of(heard) if event.label == "down"] == [EventState.CONFIRMED]


def test_a_time_outside_the_recording_is_refused(actor: Actor, heard: Recording, now: datetime) -> None:
    for bad in (-1.0, 61.0, float("nan")):
        with pytest.raises(InvalidInput, match="outside the recording"):
            add_event(actor, heard.id, AddedEvent(bad, EventKind.CUE, "down"), now=now)


def test_reading_again_keeps_what_was_judged_and_replaces_the_rest(
    actor: Actor, heard: Recording, now: datetime
) -> None:
    judge_events(actor, heard.id, [Judgement(event_id(heard, "sit"), EventState.CONFIRMED)], now=now)
    add_event(actor, heard.id, AddedEvent(30.0, EventKind.CUE, "down"), now=now)
    add_captions(actor, heard.id, "garden.vtt", b"WEBVTT", now=now)

    def hear(_recording: Recording, _told: Told) -> Heard:
        return Heard([(replace(CUE, start_s=1.1), None), (replace(YES, label="good"), None)], duration_s=60.0)

    read_waiting("reader", hear, lambda: now)
    assert [(event.label, event.state.value) for event in events_of(heard)] == [
        ("sit", "confirmed"),
        ("good", "suggested"),
        ("down", "confirmed"),
    ]


def test_deleting_the_sound_keeps_what_was_judged(actor: Actor, heard: Recording, now: datetime) -> None:
    delete_sound(actor, heard.id, now=now)
    delete_sound(actor, heard.id, now=now)
    assert not recording_file(heard.id).exists()
    assert len(events_of(heard)) == 2
    read_again(actor, heard.id, now=now)
    assert recording_readable_by(actor, heard.id).state == ReadingState.READ, "there is nothing to read again"


def test_a_deleted_recording_is_in_no_file_any_more(
    tmp_path: Path,
    django_db_blocker: DjangoDbBlocker,
    now: datetime,
    new_file_stay: Callable[[], tuple[Actor, UUID, UUID]],
) -> None:
    """The word and the numbers stand nowhere in the database's files, its log included."""
    with file_database(tmp_path / "kept.sqlite3", django_db_blocker) as file:
        actor, dog, _ = new_file_stay()
        recording_id = begin_recording(actor, dog, NEW, now=now)
        add_bytes(actor, recording_id, 0, [BYTES], now=now)
        spoken = b"numbers-of-a-voice-" * 20

        def hear(_recording: Recording, _told: Told) -> Heard:
            return Heard([(replace(CUE, label="whisperedword"), spoken)], duration_s=60.0)

        read_waiting("reader", hear, lambda: now)
        assert any(b"whisperedword" in part.read_bytes() for part in tmp_path.glob("kept*"))
        delete_recording(actor, recording_id, now=now)
        left = b"".join(part.read_bytes() for part in sorted(tmp_path.glob("kept*")))
        assert b"whisperedword" not in left
        assert b"numbers-of-a-voice" not in left
        assert not recording_file(recording_id).exists()
        assert file.exists()


@pytest.fixture
def new_file_stay(intake: Any, now: datetime) -> Callable[[], tuple[Actor, UUID, UUID]]:
    """Return a function that opens a workspace with a stay in the database that is open now."""
    from pupilage.services.open_workspace import NewWorkspace, open_workspace
    from pupilage.services.start_programme import start_programme
    from pupilage.storage.queries.programmes import programme_readable_by

    def make() -> tuple[Actor, UUID, UUID]:
        new = NewWorkspace(name="yard", username="wren", display_name="Wren", timezone="Europe/Lisbon")
        actor = open_workspace(new, now=now)
        programme_id = start_programme(actor, intake, now=now - timedelta(days=10))
        return actor, programme_readable_by(actor, programme_id).dog_id, programme_id

    return make


def test_the_sound_of_a_sample_goes_with_its_recording(actor: Actor, heard: Recording, now: datetime) -> None:
    from pupilage.storage.models import Voice, VoiceWord

    voice = Voice.objects.create(workspace_id=actor.workspace_id, name="Wren")
    word = VoiceWord.objects.create(workspace_id=actor.workspace_id, voice=voice, text="sit", role="cue")
    VoiceSample.objects.create(
        workspace_id=actor.workspace_id, word=word, numbers=b"1", duration_s=0.3, sound=b"2",
        recording=heard, heard_at=now,
    )  # fmt: skip
    delete_recording(actor, heard.id, now=now)
    sample = VoiceSample.objects.get()
    assert (sample.sound, sample.recording_id) == (None, None)


def test_an_export_holds_the_numbers_that_an_event_was_heard_by(actor: Actor, heard: Recording, now: datetime) -> None:
    import io
    import json

    from pupilage.services.export_workspace import export_workspace

    out = io.StringIO()
    export_workspace(actor, out, now=now)
    rows = json.loads(out.getvalue())["tables"]["RecordingEvent"]
    assert sorted(row["embedding"] or "" for row in rows) == ["", "MTI="]
