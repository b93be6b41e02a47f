"""The bench of recordings counts as it says, on events made up by hand, and prints what it measured."""

import json
import os
import shutil

import numpy as np
import pytest

from pupilage.cli.commands import bench_listening, bench_recordings, bench_words
from pupilage.cli.commands.bench_listening import Took
from pupilage.cli.commands.bench_noises import Measured
from pupilage.cli.commands.bench_words import Reached, TrialsMeasured
from pupilage.cli.made_sessions.files import write_aac
from pupilage.cli.made_sessions.sessions import MadeSession, Said, TrueTrial
from pupilage.core.recordings.events import Event, EventKind

SESSION = MadeSession(
    np.zeros(1, np.float32),
    (Said(1.0, 1.3, "sit"), Said(2.0, 2.3, "yes"), Said(10.0, 10.3, "down"), Said(12.0, 12.3, "down")),
    (TrueTrial("sit", 1.0, 0, 2.0), TrueTrial("down", 10.0, 1, None)),
    ((20.0, 24.0),),
)
SIT = Event(1.05, 1.3, EventKind.CUE, "sit", 0.9)
YES = Event(2.02, 2.3, EventKind.MARKER, "yes", 0.9)
DOWN, AGAIN = (Event(at_s, at_s + 0.3, EventKind.CUE, "down", 0.9) for at_s in (10.0, 11.9))
IN_TALK = Event(22.0, 22.3, EventKind.CUE, "sit", 0.9, in_talk=True)


def measured(events, what):
    return dict(bench_words.words_matched(SESSION, events))[what]


def test_what_was_said_and_heard_is_right():
    everything = measured([SIT, YES, DOWN, AGAIN], "words")
    assert (everything.n_right, everything.n_found, everything.n_true) == (4, 4, 4)
    assert everything.error_ms(1.0) == pytest.approx(100.0)
    assert measured([SIT, YES, DOWN, AGAIN], "words: marker").n_true == 1


def test_a_word_that_talk_holds_is_false_only_where_talk_is_counted():
    assert measured([SIT, IN_TALK], "words").n_found == 1
    assert measured([SIT, IN_TALK], "words, talk included").n_found == 2
    assert bench_words._trials_matched("clean", SESSION, [SIT, YES, DOWN, AGAIN, IN_TALK])[1:] == (2, 2, 0, 1)


def test_a_word_heard_as_another_is_missed_and_false():
    other = Event(1.0, 1.3, EventKind.CUE, "down", 0.9)
    found = measured([other], "words")
    assert (found.n_right, found.n_found, found.n_true) == (0, 1, 4)


def test_a_trial_without_its_repeat_or_with_a_marker_that_was_none_is_wrong():
    assert bench_words._trials_matched("clean", SESSION, [SIT, YES, DOWN]).n_right == 1
    late_yes = Event(13.0, 13.3, EventKind.MARKER, "yes", 0.9)
    assert bench_words._trials_matched("clean", SESSION, [SIT, YES, DOWN, AGAIN, late_yes]).n_right == 1


def test_unlikely_words_do_not_count():
    assert measured([Event(1.0, 1.3, EventKind.CUE, "sit", 0.49)], "words").n_found == 0


def test_babble_is_left_out_where_its_voices_are_not_installed(monkeypatch, tmp_path):
    from pupilage.cli.made_sessions import backgrounds

    monkeypatch.setattr(backgrounds, "PROMPTS", tmp_path)
    assert [name for name, _, _ in bench_words.usable_conditions()] == ["clean", "pink 20 dB", "pink 10 dB"]


def test_captions_of_some_minutes_are_read_whole():
    took = bench_listening.measure_captions(hours=0.1)
    assert took.what == "captions of 0.1 hours"
    assert took.wall_s > 0.0
    assert took.peak_mb is None


@pytest.fixture
def nothing_long(monkeypatch):
    """The long measures are put aside; what is printed of them is tried."""
    row = Measured("words", "clean", 0.5, 1.0, 2 / 3, 4, float("nan"), float("nan"))
    corrected = Measured("next session, corrected once", "clean", 1.0, 1.0, 1.0, 4, 9.0, 20.0)
    reached = Reached([row], [corrected], [TrialsMeasured("clean", 16, 12, 1, 3)], 8.0)
    monkeypatch.setattr(bench_recordings, "measure_words", lambda *_, **__: reached)
    monkeypatch.setattr(bench_recordings, "_noises", lambda _: iter(()))
    monkeypatch.setattr(bench_recordings, "measure_long_recording", lambda *_, **__: Took("long", 2.0, 1.5, None))
    monkeypatch.setattr(bench_recordings, "measure_captions", lambda: Took("captions", 0.1, 0.1, None))
    monkeypatch.setattr(bench_recordings, "measure_home", lambda **_: Took("home", 0.1, 0.1, 99.0))


@pytest.mark.usefixtures("nothing_long")
def test_bench_prints_tables_and_says_what_was_not_measured(run):
    printed = run("bench", "recordings").stdout
    assert "12 of 16" in printed
    assert "0.67" in printed
    assert "–" in printed
    assert "next session, corrected once" in printed
    assert "99 MB" in printed


@pytest.mark.usefixtures("nothing_long")
def test_no_hours_of_a_home_are_read_when_none_are_asked_for(run):
    assert "home" not in run("bench", "recordings", "--hours", "0").stdout


@pytest.mark.usefixtures("nothing_long")
def test_bench_prints_json_without_numbers_that_json_does_not_have(run):
    told = json.loads(run("bench", "recordings", "--json").stdout)
    assert told["found"][0]["median_ms"] is None
    assert told["trials"][0]["n_extra_with_talk"] == 3
    assert [row["what"] for row in told["took"]] == [
        "learning one voice's words, the slowest",
        "long",
        "captions",
        "home",
    ]


def test_a_written_video_holds_pictures_and_the_sound_for_its_whole_length(tmp_path):
    import av

    if shutil.which("ffmpeg") is None:
        assert os.environ.get("PUPILAGE_CHECKS") != "required", "ffmpeg is not installed: scripts/install_sounds"
        pytest.skip("ffmpeg is not installed: scripts/install_sounds")
    sound = tmp_path / "long.mp4"
    write_aac(sound, np.random.default_rng(1).uniform(-0.1, 0.1, 40 * 32_000).astype(np.float32))
    video = bench_listening._with_pictures(sound)
    with av.open(str(video)) as container:
        pictures, heard = container.streams.video[0], container.streams.audio[0]
        assert (pictures.codec_context.name, pictures.width, pictures.height) == ("h264", 1280, 720)
        assert float(heard.duration * heard.time_base) == pytest.approx(40.0, abs=0.2)
        assert float(pictures.duration * pictures.time_base) == pytest.approx(40.0, abs=1.0)
    assert video.stat().st_size == pytest.approx(70e6 * 40 / 60, rel=0.1)
