"""A recording's captions become suggestions, a time alone its barks; what cannot be read says why."""

from datetime import datetime
from uuid import UUID

import numpy as np
import pytest

from pupilage.core.access import Actor
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.listen_to_recording import listen
from pupilage.services.read_waiting import read_waiting
from pupilage.storage.models import Recording, Voice, VoiceWord
from pupilage.storage.queries.recordings import list_recording_events

SPOKEN = b"""WEBVTT

00:01.000 --> 00:02.000
Sit!

00:02.500 --> 00:03.000
Yes!

00:10.000 --> 00:11.000
Sit. Sit.

00:20.000 --> 00:24.000
So I will ask for a sit and then he goes to his bed and we talk about it
"""


@pytest.fixture
def read(actor: Actor, dog: UUID, programme: UUID, now: datetime):
    """Return a function that brings a file in, reads it, and returns its row."""

    def make(name: str, content: bytes, **changes: object) -> Recording:
        new = NewRecording(name, len(content), programme_id=programme, **changes)
        recording_id = begin_recording(actor, dog, new, now=now)
        add_bytes(actor, recording_id, 0, [content], now=now)
        assert read_waiting("reader", listen, lambda: now) == recording_id
        return Recording.objects.get(id=recording_id)

    return make


def labels(recording: Recording, kind: EventKind) -> list[tuple[str, float, bool]]:
    events = list_recording_events(recording)
    return [(event.label.casefold(), event.start_s, event.in_talk) for event in events if event.kind is kind]


def test_captions_give_cues_and_markers_by_the_catalogue_where_nobodys_words_are_taught(read) -> None:
    recording = read("garden.vtt", SPOKEN)
    assert recording.state == ReadingState.READ
    cues = labels(recording, EventKind.CUE)
    assert [(label, in_talk) for label, _, in_talk in cues] == [
        ("sit", False), ("sit", False), ("sit", False), ("sit", True),
    ]  # fmt: skip
    assert cues[0][1] == 1.0
    assert labels(recording, EventKind.MARKER) == [("yes", 2.5, False)]


def test_captions_go_by_the_words_of_the_voice(actor: Actor, read) -> None:
    voice = Voice.objects.create(workspace_id=actor.workspace_id, name="Wren")
    for text, role in (("seduta", "cue"), ("brava", "marker")):
        VoiceWord.objects.create(workspace_id=actor.workspace_id, voice=voice, text=text, role=role)
    recording = read("orto.srt", b"1\n00:00:01,000 --> 00:00:02,000\nSeduta. Sit. Brava!\n", voice_ids=(voice.id,))
    assert [label for label, _, _ in labels(recording, EventKind.CUE)] == ["seduta"]
    assert [label for label, _, _ in labels(recording, EventKind.MARKER)] == ["brava"]


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("empty.vtt", b"WEBVTT\n\n00:01.000 --> 00:02.000\n\n", "no spoken word"),
        ("plain.txt", b"sit and then yes", "holds no times"),
        ("garden.mp4", b"this is only text, whatever its name says", "no recording that can be read"),
    ],
)
def test_what_cannot_be_read_says_why(read, name: str, content: bytes, says: str) -> None:
    recording = read(name, content)
    assert recording.state == ReadingState.FAILED
    assert says in recording.failure[0]
    assert not list_recording_events(recording)


def wav(samples: np.ndarray) -> bytes:
    """Return a WAV file of 16 kHz, 16 bit, one channel."""
    import io
    import wave

    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return out.getvalue()


def test_a_time_alone_gives_its_barks_and_their_bouts(read) -> None:
    from pupilage.core.simulation.sounds.dogs import Dog
    from pupilage.core.simulation.sounds.scenes import home_alone

    rng = np.random.default_rng(5)
    quiet = (1e-3 * rng.standard_normal(90 * 16_000)).astype(np.float32)
    made = home_alone(Dog.drawn(rng), quiet, rng, rate_hz=16_000)
    recording = read("hall.wav", wav(made.samples), purpose=Purpose.ALONE)
    assert recording.state == ReadingState.READ, recording.failure
    assert recording.duration_s == pytest.approx(90.0, abs=0.1)
    assert labels(recording, EventKind.BARK) or labels(recording, EventKind.WHINE)
    assert recording.result["doubt"] is None
    assert recording.result["bouts"]


def test_a_session_without_taught_words_says_what_to_do(read) -> None:
    rng = np.random.default_rng(1)
    recording = read("garden.wav", wav(0.01 * rng.standard_normal(16_000 * 3)))
    assert recording.state == ReadingState.READ, recording.failure
    assert any("nobody's words are taught" in told[0] for told in recording.quality["remarks"])
    assert recording.duration_s == pytest.approx(3.0, abs=0.05)


def test_what_begins_to_sound_is_kept_so_that_a_tap_can_be_put_there(read) -> None:
    sound = 1e-4 * np.random.default_rng(2).standard_normal(16_000 * 12)
    hum = np.sin(2 * np.pi * 440.0 * np.arange(8_000) / 16_000)
    for start_s in (3.0, 7.5):
        sound[round(start_s * 16_000) :][:8_000] += 0.3 * hum
    recording = read("garden.wav", wav(sound))
    assert recording.result["onsets_s"] == [
        pytest.approx(start_s, abs=0.05)
        for start_s in (3.0, 7.5)  # a frame hears a little of what comes after it
    ]
