"""A made session for tests: a voice of a speech program, its words at known times, as WAV bytes or a video file."""

import subprocess
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from pupilage.cli.made_sessions.backgrounds import Background, background
from pupilage.cli.made_sessions.enrolments import to_16k
from pupilage.cli.made_sessions.rooms import heard_in_room
from pupilage.cli.made_sessions.voices import RATE_HZ, Voice, speak
from pupilage.core.errors import InvalidInput
from pupilage.storage.sound.cutting import as_wav

VOICE = Voice("flite", "rms")


@dataclass(frozen=True)
class Spoken:
    """sound at 16 kHz, and (start, end, word) of what is said in it."""

    sound: np.ndarray
    said: tuple[tuple[float, float, str], ...]

    @property
    def wav(self) -> bytes:
        return as_wav(self.sound)

    def times(self, word: str) -> list[float]:
        return [start_s for start_s, _, said in self.said if said == word]


def spoken(words: list[str], *, seed: int = 4, pause_s: float = 1.2, voice: Voice = VOICE) -> Spoken:
    """Return words said one after the other, each a little differently, in pink noise at 30 dB."""
    rng = np.random.default_rng(seed)
    laid, said, at = [np.zeros(RATE_HZ, np.float32)], [], RATE_HZ
    for word in words:
        try:
            sound = speak(voice, word, rng)
        except InvalidInput as error:
            pytest.skip(str(error))
        said.append((at / RATE_HZ, (at + len(sound)) / RATE_HZ, word))
        laid += [heard_in_room(sound, rng, echo_s=0.15), np.zeros(round(pause_s * RATE_HZ), np.float32)]
        at += len(laid[-1]) + len(laid[-2])
    whole = np.concatenate(laid)
    whole = whole + background(Background.PINK, len(whole), 30.0, rng)
    return Spoken(to_16k(np.clip(whole, -1, 1)), tuple(said))


def write_video(path: Path, wav: bytes, *, picture: str = "testsrc=size=320x180:rate=5") -> None:
    """Write a video with a picture (an ffmpeg source) and this sound, in the codecs that the file's name says."""
    sound = path.with_suffix(".wav")
    sound.write_bytes(wav)
    codecs = ["-c:v", "libvpx", "-c:a", "libopus"] if path.suffix == ".webm" else ["-c:v", "libx264", "-c:a", "aac"]
    command = ["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i", picture, "-i", str(sound)]
    subprocess.run([*command, *codecs, "-pix_fmt", "yuv420p", "-shortest", str(path)], check=True, timeout=120)
