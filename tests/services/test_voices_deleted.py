"""What is deleted of a voice stands in no file of the database any more, its log included."""

from pathlib import Path
from uuid import UUID

from django.db import connection

from file_databases import file_database
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.reading import LearningState, WordRole
from pupilage.services.add_sample import remove_sample
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.keep_voice import VoiceEntry, delete_voice, keep_voice
from pupilage.services.keep_word import WordEntry, delete_word, keep_word
from pupilage.services.open_workspace import NewWorkspace, open_workspace
from pupilage.services.read_voices import read_voice
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.services.start_programme import start_programme
from pupilage.storage.models import RecordingEvent, Voice, VoiceSample
from pupilage.storage.queries.programmes import programme_readable_by


def everything_in(folder: Path) -> bytes:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(PASSIVE)")
    return b"".join(part.read_bytes() for part in sorted(folder.glob("kept*")) if part.suffix != ".lock")


def give(actor, word: UUID, mark: bytes, now) -> UUID:
    """Keep an example whose sound and numbers can be found again."""
    sample = VoiceSample.objects.create(
        workspace_id=actor.workspace_id, word_id=word, duration_s=0.4, heard_at=now,
        sound=(b"sound-of-" + mark) * 300, numbers=(b"numbers-of-" + mark) * 300,
    )  # fmt: skip
    return sample.id


def test_samples_words_and_voices_leave_no_byte(tmp_path, django_db_blocker, now):
    with file_database(tmp_path / "kept.sqlite3", django_db_blocker):
        actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=now)
        voice = keep_voice(actor, VoiceEntry("Wrenofthegarden", keep_sound=True), now=now)
        words = [keep_word(actor, voice, WordEntry(text, WordRole.CUE), now=now) for text in ("seduta", "vieniqui")]
        first, _ = [give(actor, words[0], mark, now) for mark in (b"one-", b"two-")]
        give(actor, words[1], b"three-", now)
        alike = {"words": [str(one) for one in words], "shares": [[0.1, 0.5, 0.4], [0.0, 0.3, 0.7]]}
        Voice.objects.filter(id=voice).update(
            model=b"weights-of-both" * 300,
            made_at=now,
            look_alikes=alike,
        )
        assert [len(one.plays) for one in read_voice(actor, voice).alike] == [2, 2]
        for mark in (b"sound-of-one", b"numbers-of-one", b"numbers-of-two", b"seduta", b"weights-of-both"):
            assert mark in everything_in(tmp_path), mark
        remove_sample(actor, first, now=now)
        left = everything_in(tmp_path)
        assert b"of-one-" not in left
        assert b"numbers-of-two" in left
        delete_word(actor, words[0], now=now)
        left = everything_in(tmp_path)
        assert b"of-two-" not in left
        assert b"seduta" not in left
        assert b"numbers-of-three" in left
        assert read_voice(actor, voice).alike == (), "a word that is gone is taken for no other"
        assert Voice.objects.get(id=voice).learning == LearningState.WAITING, "its weights go with the next model"
        delete_word(actor, words[1], now=now)
        left = everything_in(tmp_path)
        assert b"of-three-" not in left
        assert b"weights-of-both" not in left
        delete_voice(actor, voice, now=now)
        assert b"Wrenofthegarden" not in everything_in(tmp_path)


def test_a_deleted_voice_leaves_no_number_that_it_was_heard_by(tmp_path, django_db_blocker, intake, now):
    with file_database(tmp_path / "kept.sqlite3", django_db_blocker):
        actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=now)
        dog = programme_readable_by(actor, start_programme(actor, intake, now=now)).dog_id
        voice = keep_voice(actor, VoiceEntry("Wrenofthegarden"), now=now)
        new = NewRecording("garden.wav", 4, voice_ids=(voice,))
        recording = begin_recording(actor, dog, new, now=now)
        add_bytes(actor, recording, 0, [b"RIFF"], now=now)
        sit = Event(1.0, 1.4, EventKind.CUE, "sit", 0.9, speaker="Wrenofthegarden")
        heard = Heard([(sit, b"heard-by-these" * 64)], 60.0)
        read_waiting("reader", lambda _recording, _told: heard, lambda: now, only=recording)
        assert b"heard-by-these" in everything_in(tmp_path)
        delete_voice(actor, voice, now=now)
        left = everything_in(tmp_path)
        assert b"heard-by-these" not in left
        assert b"Wrenofthegarden" not in left
        (event,) = RecordingEvent.objects.all()
        assert (event.label, event.speaker, event.embedding) == ("sit", "", None)
