"""A recording's captions become suggestions, a time alone its barks; what cannot be read says why."""

from datetime import datetime
from uuid import UUID

import numpy as np
import pytest

from pupilage.core.access import Actor
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.services.bring_recording import NewRecording, add_bytes, add_captions, begin_recording
from pupilage.services.listen_to_recording import listen
from pupilage.services.read_waiting import read_waiting
from pupilage.storage.models import Recording, Voice, VoiceWord
from pupilage.storage.queries.recordings import list_recording_events
from pupilage.storage.recording_files import recording_file
from pupilage.storage.sound.decoding import decode

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


def with_ffmpeg(path, *arguments: str) -> bytes:
    """Return a file that ffmpeg makes of a tone, and of what else is asked for."""
    import subprocess

    tone = ["-f", "lavfi", "-i", "sine=frequency=440:duration=4"]
    subprocess.run(["ffmpeg", "-v", "error", "-y", *tone, *arguments, str(path)], check=True, timeout=60)
    return path.read_bytes()


def remarks(recording: Recording) -> list[tuple[str, dict[str, object]]]:
    return [(template, figures) for template, figures in recording.quality["remarks"]]


def test_two_languages_in_one_file_are_told(read, tmp_path) -> None:
    second = ["-f", "lavfi", "-i", "sine=frequency=880:duration=4", "-map", "0:a", "-map", "1:a"]
    named = ["-metadata:s:a:0", "language=eng", "-metadata:s:a:1", "language=ita"]
    recording = read("garden.mp4", with_ffmpeg(tmp_path / "two.mp4", *second, *named))
    assert recording.state == ReadingState.READ, recording.failure
    told = next(figures for template, figures in remarks(recording) if "sound tracks" in template)
    assert told == {"n": 2, "languages": "eng, ita"}


def test_captions_inside_a_file_are_told(read, tmp_path) -> None:
    captions = tmp_path / "in.srt"
    captions.write_text("1\n00:00:01,000 --> 00:00:02,000\nSit.\n", encoding="utf-8")
    inside = ["-i", str(captions), "-map", "0:a", "-map", "1:s", "-c:s", "mov_text"]
    recording = read("garden.mp4", with_ffmpeg(tmp_path / "inside.mp4", *inside))
    assert any("captions inside" in template for template, _ in remarks(recording))


def test_sound_that_starts_after_the_picture_is_told_and_keeps_the_players_times(read, tmp_path) -> None:
    picture = ["-f", "lavfi", "-i", "testsrc=size=64x64:rate=5:duration=6", "-map", "1:v", "-map", "0:a"]
    late = ["-filter:a", "asetpts=PTS+1.5/TB", "-c:v", "mpeg4"]
    recording = read("garden.mkv", with_ffmpeg(tmp_path / "late.mkv", *picture, *late))
    told = next(figures for template, figures in remarks(recording) if "after the picture" in template)
    assert told["start_s"] == pytest.approx(1.5, abs=0.1)
    heard = np.concatenate([block.sound for block in decode(recording_file(recording.id))])
    assert np.flatnonzero(np.abs(heard) > 0.02)[0] / 16_000 == pytest.approx(1.5, abs=0.1)


@pytest.mark.parametrize(("share", "name"), [(0.5, "cut.mp4"), (0.1, "cut.m4a")])
def test_a_file_cut_short_leaves_a_sentence_and_no_event(read, tmp_path, share, name) -> None:
    whole = with_ffmpeg(tmp_path / name)
    recording = read(name, whole[: round(share * len(whole))])
    assert recording.state == ReadingState.FAILED
    assert "cut short" in recording.failure[0]
    assert recording.failure[1]["name"] == name
    assert not list_recording_events(recording)


@pytest.mark.parametrize("name", ["cut.webm", "cut.mp3"])
@pytest.mark.parametrize("purpose", Purpose)
def test_a_file_cut_short_that_can_be_read_as_far_as_it_goes_says_where_it_ends(read, tmp_path, name, purpose) -> None:
    whole = with_ffmpeg(tmp_path / name, "-f", "lavfi", "-i", "sine=frequency=300:duration=40", "-map", "1:a")
    recording = read(name, whole[: len(whole) // 2], purpose=purpose)
    assert recording.state == ReadingState.READ, recording.failure
    (told,) = [figures for template, figures in remarks(recording) if "cut short" in template]
    assert told["length_s"] == pytest.approx(40.0, abs=0.1)
    assert told["end_s"] == recording.duration_s == pytest.approx(20.0, abs=1.5)


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"WEBVTT\n\n00:01.000 --> 00:02.000\n[music]\n", "no spoken word"), (b"sit and then yes", "holds no times")],
)
def test_captions_beside_a_sound_that_cannot_be_read_are_left_out_and_the_sound_is_heard(
    actor, read, now, content, says
) -> None:
    recording = read("garden.wav", wav(0.01 * np.random.default_rng(4).standard_normal(48_000)))
    add_captions(actor, recording.id, "garden.vtt", content, now=now)
    read_waiting("reader", listen, lambda: now)
    again = Recording.objects.get(id=recording.id)
    assert again.state == ReadingState.READ, again.failure
    told = remarks(again)
    assert next(figures for template, figures in told if "left out" in template) == {"name": "garden.vtt"}
    assert any(says in template for template, _ in told)


def test_a_picture_without_sound_says_so(read, tmp_path) -> None:
    silent = ["-f", "lavfi", "-i", "testsrc=size=64x64:rate=5:duration=1", "-map", "1:v", "-c:v", "mpeg4"]
    recording = read("garden.mp4", with_ffmpeg(tmp_path / "silent.mp4", *silent))
    assert recording.state == ReadingState.FAILED
    assert "no sound track" in recording.failure[0]


def test_a_voice_that_learned_nothing_yet_is_named(actor: Actor, read) -> None:
    voice = Voice.objects.create(workspace_id=actor.workspace_id, name="Wren")
    recording = read("garden.wav", wav(0.01 * np.random.default_rng(3).standard_normal(48_000)), voice_ids=(voice.id,))
    assert recording.state == ReadingState.READ
    assert any(figures == {"voice": "Wren"} for _, figures in remarks(recording))


@pytest.mark.parametrize(
    ("model", "classes", "says"),
    [("a.onnx", "", "needs two files"), ("a.onnx", "a.csv", "There is no sound model"), ("", "a.csv", "two files")],
)
def test_a_sound_model_that_cannot_be_used_is_named(read, settings, model, classes, says) -> None:
    settings.SOUND_MODEL, settings.SOUND_MODEL_CLASSES = model, classes
    recording = read("hall.wav", wav(np.zeros(16_000 * 3)), purpose=Purpose.ALONE)
    assert recording.state == ReadingState.FAILED
    assert says in recording.failure[0]
