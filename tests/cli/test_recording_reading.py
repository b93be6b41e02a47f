"""`pupilage recording read` and `watch`: a file in, suggestions out, and a sentence for what cannot be read."""

import json
from pathlib import Path

import pytest

from pupilage.cli.commands import recording_reading
from pupilage.cli.failing import EXIT_CODES
from pupilage.core.recordings.reading import ReadingState
from pupilage.storage.models import Recording
from pupilage.storage.recording_files import recordings_folder

pytestmark = pytest.mark.django_db
SPOKEN = "WEBVTT\n\n00:01.000 --> 00:02.000\nSit!\n\n00:02.500 --> 00:03.000\nYes!\n\n00:10.000 --> 00:11.000\nSit.\n"


@pytest.fixture
def captions(tmp_path: Path) -> Path:
    file = tmp_path / "garden.vtt"
    file.write_text(SPOKEN, encoding="utf-8")
    return file


def test_captions_are_read_and_their_cues_counted(run, programme, captions):
    shown = run("recording", "read", captions)
    assert shown.exit_code == 0, shown.output
    assert "3 suggestions, none of them checked yet" in shown.output
    assert "Sit" in shown.output
    assert Recording.objects.get().programme_id == programme


def test_programs_get_every_event_with_its_state(run, programme, captions):
    told = json.loads(run("recording", "read", captions, "--json").stdout)
    assert [(event["kind"], event["label"].casefold(), event["state"]) for event in told["events"]] == [
        ("cue", "sit", "suggested"),
        ("marker", "yes", "suggested"),
        ("cue", "sit", "suggested"),
    ]


def test_the_same_file_twice_is_known(run, programme, captions):
    run("recording", "read", captions)
    again = run("recording", "read", captions)
    assert again.exit_code == EXIT_CODES["conflict"]
    assert "was brought in before" in again.output


def test_what_cannot_be_read_says_why(run, programme, tmp_path):
    assert "There is no file" in run("recording", "read", tmp_path / "gone.mp4").output
    odd = tmp_path / "notes.vtt"
    odd.write_text("no times here", encoding="utf-8")
    silent = tmp_path / "music.vtt"
    silent.write_text("WEBVTT\n\n00:01.000 --> 00:02.000\n[music]\n", encoding="utf-8")
    refused = run("recording", "read", odd)
    assert refused.exit_code == EXIT_CODES["invalid"]
    assert "holds no times" in refused.output
    video = tmp_path / "garden.mp4"
    video.write_text("only text", encoding="utf-8")
    assert "no recording that can be read" in run("recording", "read", video).output
    assert "no spoken word" in run("recording", "read", silent).output
    assert not Recording.objects.exists()
    assert not list(recordings_folder().iterdir()), "nothing is half brought in"


def test_a_watched_folder_brings_in_what_is_there_with_its_captions(run, programme, tmp_path):
    import wave

    box = tmp_path / "box"
    box.mkdir()
    with wave.open(str(box / "garden.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(bytes(2 * 16_000 * 12))
    (box / "garden.en.vtt").write_text(SPOKEN, encoding="utf-8")
    (box / "list.pdf").write_text("no recording", encoding="utf-8")
    shown = run("recording", "watch", box, "--once")
    assert "garden.wav: 3 suggestions" in shown.output
    recording = Recording.objects.get()
    assert recording.captions_name == "garden.en.vtt"
    assert recording.duration_s == pytest.approx(12.0, abs=0.1)


def test_a_folder_that_is_not_there_is_named(run, programme, tmp_path):
    assert "There is no folder" in run("recording", "watch", tmp_path / "gone").output


def test_what_came_while_the_reader_was_about_to_end_is_read_all_the_same(run, programme, captions, monkeypatch):
    """Its own reader found the lock taken and went; without a last look it would wait for ever."""
    run("recording", "read", captions)
    monkeypatch.setattr("pupilage.storage.reader_process.lower_priority", lambda: None)
    monkeypatch.setattr(recording_reading, "LOOKED_EVERY_S", 0.0)
    really, turns = recording_reading._work, []

    def work(worker: str, *, wait: bool) -> None:
        turns.append(wait)
        if len(turns) == 1:
            Recording.objects.update(state=ReadingState.WAITING)
        else:
            really(worker, wait=wait)

    monkeypatch.setattr(recording_reading, "_work", work)
    assert run("recording", "work").exit_code == 0
    assert len(turns) == 2
    assert Recording.objects.get().state == ReadingState.READ
