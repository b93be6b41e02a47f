"""Long work in real processes: killed in the middle it goes on when a reader starts again; called off it stops."""

import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

import numpy as np
import pytest

from file_databases import file_database
from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.reading import LearningState, ReadingState, WordRole
from pupilage.services.add_sample import tap_sample
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.keep_voice import VoiceEntry, delete_voice, keep_voice
from pupilage.services.keep_word import WordEntry, keep_word
from pupilage.services.learn_voice import ask_to_learn
from pupilage.services.open_workspace import NewWorkspace, open_workspace
from pupilage.services.read_waiting import cancel_reading
from pupilage.services.start_programme import start_programme
from pupilage.storage.models import Recording, RecordingEvent, Voice, VoiceSample
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.sound.cutting import as_wav
from pupilage.storage.sound.embedding import find_model
from spoken import spoken

pytestmark = pytest.mark.processes
SOON_S = 3.0
"""A worker says once a second that it is alive; the rest is for a busy machine."""


@dataclass(frozen=True)
class Yard:
    """A file database that real processes work on too."""

    actor: Actor
    dog: UUID

    def bring(self, wav: bytes, name: str) -> UUID:
        at = datetime.now(UTC)
        recording_id = begin_recording(self.actor, self.dog, NewRecording(name, len(wav)), now=at)
        add_bytes(self.actor, recording_id, 0, [wav], now=at)
        return recording_id


@pytest.fixture
def yard(machine, intake, now, django_db_blocker, monkeypatch) -> Iterator[Yard]:
    machine.folder.mkdir()
    monkeypatch.setenv("PUPILAGE_DATA", str(machine.folder))
    with file_database(machine.folder / "pupilage.sqlite3", django_db_blocker):
        actor = open_workspace(NewWorkspace("yard", "wren", "Wren", "Europe/Lisbon"), now=now)
        programme = start_programme(actor, intake, now=now)
        yield Yard(actor, programme_readable_by(actor, programme).dog_id)


@pytest.fixture(scope="module")
def long() -> bytes:
    """A quarter of an hour of noise: some seconds of work."""
    return as_wav(np.random.default_rng(3).standard_normal(15 * 60 * 16_000).astype(np.float32) * 0.01)


def until(holds: Callable[[], bool], within_s: float) -> float:
    """Wait until it holds, and return how long that took."""
    begun = time.monotonic()
    while not holds():
        assert time.monotonic() - begun < within_s, "it never came true"
        time.sleep(0.02)
    return time.monotonic() - begun


def has_begun(rows) -> Callable[[], bool]:
    return lambda: rows.filter(progress__gt=0.02, progress__lt=1).exists()


def test_a_reading_that_was_killed_goes_on_with_the_next_reader(machine, yard, long):
    recording = yard.bring(long, "long.wav")
    rows = Recording.objects.filter(id=recording)
    with machine.start("recording", "work") as reader:
        until(has_begun(rows), 40)
        reader.stop(signal.SIGKILL)
    assert rows.get().state == ReadingState.READING
    done = machine.run("recording", "work")
    assert done.returncode == 0, done.stdout
    read = rows.get()
    assert (read.state, read.failure) == (ReadingState.READ, None)
    assert read.duration_s == pytest.approx(900, abs=0.1)


def test_a_reading_that_is_called_off_stops_soon_and_leaves_nothing(machine, yard, long):
    first = yard.bring(long, "long.wav")
    second = yard.bring(long[:44] + long[-2 * 16_000 * 60 :], "later.wav")
    with machine.start("recording", "work") as reader:
        until(has_begun(Recording.objects.filter(id=first)), 40)
        cancel_reading(yard.actor, first, now=datetime.now(UTC))
        until(lambda: Recording.objects.get(id=second).state != ReadingState.WAITING, SOON_S)
        reader.popen.communicate(timeout=60)
    assert Recording.objects.get(id=first).state == ReadingState.CANCELLED
    assert Recording.objects.get(id=first).duration_s is None
    assert not RecordingEvent.objects.filter(recording=first).exists()
    assert Recording.objects.get(id=second).state == ReadingState.READ


@pytest.fixture
def taught(yard) -> UUID:
    """A voice with nine examples that nothing was learned from yet."""
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    said = spoken(["sit", "come", "yes"] * 3)
    at = datetime.now(UTC) - timedelta(minutes=1)
    recording = yard.bring(said.wav, "garden.wav")
    Recording.objects.update(state=ReadingState.CANCELLED)
    voice = keep_voice(yard.actor, VoiceEntry("Wren"), now=at)
    for word in ("sit", "come", "yes"):
        word_id = keep_word(yard.actor, voice, WordEntry(word, WordRole.CUE), now=at)
        for start_s in said.times(word):
            tap_sample(yard.actor, word_id, recording, start_s + 0.3, now=at)
    ask_to_learn(yard.actor, voice, now=at)
    return voice


def test_a_learning_that_was_killed_goes_on_from_the_examples_that_have_taught(machine, yard, taught):
    rows = Voice.objects.filter(id=taught)
    with machine.start("recording", "work") as reader:
        until(lambda: VoiceSample.objects.exclude(numbers=b"").count() >= 2, 40)
        reader.stop(signal.SIGKILL)
    kept = {one.id: bytes(one.numbers) for one in VoiceSample.objects.exclude(numbers=b"")}
    assert 2 <= len(kept) < 9
    assert machine.run("recording", "work").returncode == 0
    assert (rows.get().learning, rows.get().failure) == (LearningState.IDLE, None)
    assert rows.get().model
    after = {one.id: bytes(one.numbers) for one in VoiceSample.objects.all()}
    assert len(after) == 9
    assert all(after[sample] == numbers for sample, numbers in kept.items())


def test_a_voice_deleted_while_it_is_learned_stops_the_learner_soon(machine, yard, taught):
    with machine.start("recording", "work") as reader:
        until(has_begun(Voice.objects.filter(id=taught)), 40)
        waits = yard.bring(as_wav(np.zeros(16_000, np.float32)), "short.wav")
        delete_voice(yard.actor, taught, now=datetime.now(UTC))
        until(lambda: Recording.objects.get(id=waits).state != ReadingState.WAITING, SOON_S)
        reader.popen.communicate(timeout=60)
    assert not VoiceSample.objects.exists()
