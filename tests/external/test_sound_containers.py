"""Sound out of each container, on the player's clock: an impulse that ffmpeg puts there is found there.

Source of the times: the file itself, made by the distribution's ffmpeg from a wave file with one loud sample block.
"""

import os
import shutil
import subprocess
import wave
from pathlib import Path

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.storage.sound.decoding import decode, read_track

RATE_HZ = 16_000
FILMED_HZ = 48_000
"""What a phone records at. (Opus made of 16 kHz comes out 4.3 ms late: its padding is taken at the wrong rate.)"""
AT_S = 3.25
LENGTH_S = 6.0

CONTAINERS = {
    "mp4": ["-c:a", "aac", "-b:a", "96k"],
    "mov": ["-c:a", "aac"],
    "m4a": ["-c:a", "aac"],
    "webm": ["-c:a", "libopus"],
    "mp3": ["-c:a", "libmp3lame"],
    "ogg": ["-c:a", "libvorbis"],
    "flac": [],
    "wav": [],
}
WITHIN_S = 0.002


@pytest.fixture(scope="module")
def ffmpeg() -> str:
    found = shutil.which("ffmpeg")
    if found is None:
        assert os.environ.get("PUPILAGE_CHECKS") != "required", "ffmpeg is not installed: scripts/install_sounds"
        pytest.skip("ffmpeg is not installed: scripts/install_sounds")
    return found


@pytest.fixture(scope="module")
def impulse(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wave file with a click of 2 ms that begins at AT_S."""
    samples = np.zeros(round(LENGTH_S * FILMED_HZ), "<i2")
    at = round(AT_S * FILMED_HZ)
    samples[at : at + 96] = 30_000
    file = tmp_path_factory.mktemp("sound") / "impulse.wav"
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(FILMED_HZ)
        out.writeframes(samples.tobytes())
    return file


def run(*arguments: object) -> None:
    subprocess.run([str(one) for one in arguments], check=True, capture_output=True)


def loudest_s(file: Path, *, rate_hz: int = RATE_HZ) -> float:
    """Return where the loudest 2 ms begin."""
    sound = np.concatenate([block.sound for block in decode(file, rate_hz=rate_hz, block_s=1.0)])
    n = round(0.002 * rate_hz)
    power = np.convolve(sound.astype(float) ** 2, np.ones(n), "valid")
    return float(np.argmax(power)) / rate_hz


@pytest.mark.parametrize("ending", CONTAINERS)
@pytest.mark.parametrize("rate_hz", [16_000, 32_000])
def test_an_impulse_is_where_it_was_put(ffmpeg: str, impulse: Path, tmp_path: Path, ending: str, rate_hz: int) -> None:
    file = tmp_path / f"made.{ending}"
    run(ffmpeg, "-i", impulse, *CONTAINERS[ending], file)
    assert loudest_s(file, rate_hz=rate_hz) == pytest.approx(AT_S, abs=WITHIN_S)


def test_sound_that_starts_late_in_a_video_keeps_the_players_time(ffmpeg: str, impulse: Path, tmp_path: Path) -> None:
    """The picture begins at 0 and the sound 1.5 s later, as ffmpeg's -itsoffset says."""
    file = tmp_path / "late.mp4"
    picture = ["-f", "lavfi", "-i", "color=size=32x32:rate=10:duration=8"]
    run(ffmpeg, *picture, "-itsoffset", "1.5", "-i", impulse, "-map", "0:v", "-map", "1:a", "-c:a", "aac", file)
    assert loudest_s(file) == pytest.approx(AT_S + 1.5, abs=WITHIN_S)


def test_the_length_is_told_before_anything_is_decoded(ffmpeg: str, impulse: Path, tmp_path: Path) -> None:
    file = tmp_path / "made.m4a"
    run(ffmpeg, "-i", impulse, "-c:a", "aac", file)
    track = read_track(file)
    assert track.duration_s == pytest.approx(LENGTH_S, abs=0.1)
    assert (track.codec, track.n_tracks) == ("aac", 1)


def test_a_file_cut_short_is_read_as_far_as_it_goes(ffmpeg: str, impulse: Path, tmp_path: Path) -> None:
    whole, cut = tmp_path / "whole.mp3", tmp_path / "cut.mp3"
    run(ffmpeg, "-i", impulse, "-c:a", "libmp3lame", "-b:a", "64k", whole)
    content = whole.read_bytes()
    cut.write_bytes(content[: len(content) * 3 // 4])
    assert loudest_s(cut) == pytest.approx(AT_S, abs=WITHIN_S)


def test_a_video_without_its_table_of_contents_says_so(ffmpeg: str, impulse: Path, tmp_path: Path) -> None:
    whole, cut = tmp_path / "whole.mp4", tmp_path / "cut.mp4"
    run(ffmpeg, "-i", impulse, "-c:a", "aac", whole)
    content = whole.read_bytes()
    cut.write_bytes(content[: len(content) // 2])
    with pytest.raises(InvalidInput, match="cut short before its table of contents"):
        list(decode(cut))


def test_a_video_without_sound_says_what_to_do(ffmpeg: str, tmp_path: Path) -> None:
    file = tmp_path / "silent.mp4"
    run(ffmpeg, "-f", "lavfi", "-i", "color=size=32x32:rate=10:duration=1", file)
    with pytest.raises(InvalidInput, match="has no sound track; film with the microphone on"):
        list(decode(file))


def test_of_two_languages_each_can_be_chosen(ffmpeg: str, impulse: Path, tmp_path: Path) -> None:
    file = tmp_path / "two.mp4"
    run(ffmpeg, "-f", "lavfi", "-i", "anullsrc=r=48000:cl=mono:d=6", "-i", impulse,
        "-map", "0:a", "-map", "1:a", "-c:a", "aac", "-metadata:s:a:0", "language=ita", file)  # fmt: skip
    assert read_track(file).languages[0] == "ita"
    second = np.concatenate([block.sound for block in decode(file, track=1)])
    assert float(np.argmax(np.abs(second))) / RATE_HZ == pytest.approx(AT_S, abs=0.004)
    with pytest.raises(InvalidInput, match="has 2 sound tracks; 3 is none of 1 to 2"):
        read_track(file, track=2)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("notes.mp4", b"only text", "no recording that can be read"),
        ("empty.wav", b"", "is empty; copy it from the phone again"),
        ("list.mp4", b"ffconcat version 1.0\nfile /etc/passwd\n", "no recording that can be read"),
    ],
)
def test_what_is_no_recording_is_refused(tmp_path: Path, name: str, content: bytes, says: str) -> None:
    file = tmp_path / name
    file.write_bytes(content)
    with pytest.raises(InvalidInput, match=says):
        list(decode(file))


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(InvalidInput, match=r"There is no file “gone\.mp4”"):
        list(decode(tmp_path / "gone.mp4"))
