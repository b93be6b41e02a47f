"""`pupilage recording enrol`: a voice taught from a file by times, then heard in the same file."""

import json
from pathlib import Path

import pytest

from pupilage.cli.failing import EXIT_CODES
from pupilage.core.errors import InvalidInput
from pupilage.storage.models import Recording, Voice, VoiceSample, VoiceWord
from pupilage.storage.recording_files import recordings_folder
from pupilage.storage.sound.embedding import find_model
from spoken import Spoken, spoken

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def said() -> Spoken:
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    return spoken(["sit", "yes"] * 4, seed=6)


@pytest.fixture
def garden(tmp_path: Path, said: Spoken) -> Path:
    file = tmp_path / "garden.wav"
    file.write_bytes(said.wav)
    return file


def samples(said: Spoken) -> list[str]:
    """Return the first three examples of each word, as somebody writes them down."""
    told = {"sit": "sit:cue:sit", "yes": "yes:marker"}
    return [f"{told[word]}@0:{start_s + 0.3:05.2f}" for word in told for start_s in said.times(word)[:3]]


def test_words_are_taught_and_then_heard_by_read(run, programme, garden, said, tmp_path):
    lines = tmp_path / "words.txt"
    lines.write_text("# of the garden\n\n" + "\n".join(samples(said)), encoding="utf-8")
    told = run("recording", "enrol", garden, "--voice", "Wren", "--words", lines, "--background", "0-4", "--json")
    assert told.exit_code == 0, told.output
    found = json.loads(told.stdout)
    assert [one["word"] for one in found["cut"]] == ["sit"] * 3 + ["yes"] * 3 + ["background"]
    starts = [start_s for word in ("sit", "yes") for start_s in said.times(word)[:3]]
    assert [one["start_s"] for one in found["cut"][:6]] == pytest.approx(starts, abs=0.12)
    assert not VoiceSample.objects.exclude(sound=None).exists()
    again = garden.with_name("again.wav")
    again.write_bytes(said.wav + b"\0\0")
    heard = json.loads(run("recording", "read", again, "--voice", "wren", "--json").stdout)
    sure = [(one["kind"], one["label"]) for one in heard["events"] if one["confidence"] >= 0.5]
    assert sure == [("cue", "sit"), ("marker", "yes")] * 4


def test_what_is_wrong_with_the_lines_is_told_at_once(run, programme, garden):
    shown = run("recording", "enrol", garden, "--voice", "Wren", "--sample", "sit", "--sample", "x:nonsense@3")
    assert shown.exit_code == EXIT_CODES["invalid"]
    assert "“sit” is no example" in shown.output
    assert "“nonsense” in" in shown.output
    assert "Nothing to teach" in run("recording", "enrol", garden, "--voice", "Wren").output
    assert not Recording.objects.exists()
    assert not Voice.objects.exists()


def test_a_mended_line_is_taught_beside_those_that_were_cut_before(run, programme, garden, said):
    lines = [part for one in samples(said)[:2] for part in ("--sample", one)]
    wrong = ["--sample", "jump:cue:no-such@0:01.3", "--sample", "sit@9:59"]
    shown = run("recording", "enrol", garden, "--voice", "Wren", *lines, *wrong)
    assert shown.exit_code == EXIT_CODES["invalid"]
    assert "“no-such” is no behaviour" in shown.output
    assert "ends before 599.0 s" in shown.output
    assert Voice.objects.get().model is None, "what is half given is not learned"
    told = run("recording", "enrol", garden, "--voice", "Wren", *lines, "--background", "0-4", "--json")
    assert told.exit_code == 0, told.output
    assert [one["word"] for one in json.loads(told.stdout)["cut"]] == ["sit", "sit", "background"]
    assert VoiceSample.objects.count() == 3
    assert "is no stretch" in run("recording", "enrol", garden, "--voice", "Pia", "--talk", "3-1").output
    assert Voice.objects.count() == 1


def test_lines_of_which_none_can_be_taught_leave_nothing_behind(run, programme, garden):
    wrong = ["sit@9:59", "jump:cue:no-such@0:01.3", "sit@0:00.2"]
    shown = run("recording", "enrol", garden, "--voice", "Wren", *(part for one in wrong for part in ("--sample", one)))
    assert shown.exit_code == EXIT_CODES["invalid"]
    for says in ("ends before 599.0 s", "“no-such” is no behaviour", "No word stands out"):
        assert says in shown.output
    shown = run("recording", "enrol", garden, "--voice", "Wren", "--talk", "9:00-9:20", "--background", "0:00-0:01")
    assert "This stretch lasts 0.0 s" in shown.output
    assert "is no stretch of 3 to 60 s" in shown.output
    nobody = run("recording", "enrol", garden, "--voice", " ", "--sample", "sit@0:01.3")
    assert "Say who it is" in nobody.output
    for kind in (Recording, Voice, VoiceWord, VoiceSample):
        assert not kind.objects.exists()
    assert not list(recordings_folder().iterdir())


def test_captions_and_text_called_mp4_teach_nothing(run, programme, tmp_path):
    captions, text = tmp_path / "garden.vtt", tmp_path / "garden.mp4"
    captions.write_text("WEBVTT\n\n00:01.000 --> 00:02.000\nSit!\n", encoding="utf-8")
    text.write_text("only text", encoding="utf-8")
    assert "Captions hold no sound" in run("recording", "enrol", captions, "--voice", "W", "--sample", "sit@1").output
    assert (
        "no recording that can be read" in run("recording", "enrol", text, "--voice", "W", "--sample", "sit@1").output
    )
    assert not Recording.objects.exists(), "nothing half-imported"


def test_an_unknown_voice_is_named(run, programme, garden):
    assert "There is no voice called “Pia”" in run("recording", "read", garden, "--voice", "Pia").output


@pytest.mark.processes
def test_a_process_of_its_own_tells_what_is_wrong_in_a_sentence(machine, tmp_path):
    """What is read before the database is opened needs no settings; a test's own process has them always."""
    told = machine.run("recording", "enrol", tmp_path / "none.wav", "--voice", "Wren", "--sample", "sit@0:01")
    assert told.returncode == EXIT_CODES["invalid"]
    assert "There is no file" in told.stdout + told.stderr
