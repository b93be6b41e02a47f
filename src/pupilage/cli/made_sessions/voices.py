"""Voices: words and sentences spoken by speech programs of the distribution, each time a little differently."""

import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.io import wavfile
from scipy.signal import resample_poly

from pupilage.core.errors import InvalidInput

RATE_HZ = 32_000
Array = NDArray[np.float32]


@dataclass(frozen=True)
class Voice:
    """A speaker: the program that speaks, and its name for the voice."""

    program: str
    name: str

    def __str__(self) -> str:
        return f"{self.program} {self.name}"


TUNING_VOICES = (Voice("flite", "kal16"), Voice("espeak-ng", "en-gb+m7"), Voice("espeak-ng", "en-us+f4"))
TEST_VOICES = (
    Voice("flite", "slt"),
    Voice("flite", "rms"),
    Voice("flite", "awb"),
    Voice("espeak-ng", "en-us+m3"),
    Voice("espeak-ng", "en-gb+f2"),
    Voice("espeak-ng", "en-gb-scotland+m1"),
    Voice("espeak-ng", "en-gb-x-rp+f5"),
)
_SPREAD = {"speed": (0.82, 1.22), "semitones": 1.2}


def speak(voice: Voice, text: str, rng: Generator, *, excited: bool = False) -> Array:
    """Return the text as the voice says it this time, trimmed to where it sounds, at 32 kHz.

    Its speed is drawn from 0.82 to 1.22, its pitch with a spread of 1.2 semitones; excited words are 1.5 to 3.5 higher.
    """
    speed = rng.uniform(*_SPREAD["speed"])
    semitones = rng.normal(0.0, _SPREAD["semitones"]) + (rng.uniform(1.5, 3.5) if excited else 0.0)
    pitch = 2.0 ** (semitones / 12.0)
    with tempfile.TemporaryDirectory(prefix="pupilage-voice-") as folder:
        path = Path(folder) / "said.wav"
        if voice.program == "flite":
            arguments = [
                "-voice",
                voice.name,
                "--setf",
                f"duration_stretch={pitch / speed:.3f}",
                "-t",
                text,
                "-o",
                str(path),
            ]
            found = _wave(_program("flite"), arguments, path)
            found = resample_poly(found, 200, max(round(200 * pitch), 1))
        else:
            base = float(np.clip(50.0 + 4.0 * semitones, 0, 99))
            arguments = ["-v", voice.name, "-s", f"{165 * speed:.0f}", "-p", f"{base:.0f}", "-w", str(path), text]
            found = _wave(_program("espeak-ng"), arguments, path)
    return trimmed(np.asarray(found, np.float32))


def trimmed(sound: Array) -> Array:
    """Return the sound from where it first comes within 36 dB of its loudest 5 ms to where it last does."""
    n = RATE_HZ // 200
    power = np.convolve(sound**2, np.ones(n) / n, "same")
    loud = np.flatnonzero(power > power.max() * 10**-3.6)
    return sound[max(loud[0] - n // 2, 0) : loud[-1] + n // 2]


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise InvalidInput.of(
            "voices",
            "The benchmark's sessions are spoken by {name}, which is not installed. On Debian: "
            "apt-get install flite espeak-ng asterisk-core-sounds-en-wav asterisk-core-sounds-fr-wav.",
            name=name,
        )
    return found


def _wave(program: str, arguments: list[str], path: Path) -> Array:
    """Return what a speech program wrote, at 32 kHz."""
    subprocess.run([program, *arguments], check=True, capture_output=True, timeout=60)  # noqa: S603  texts of ours only
    return read_wave(path)


def read_wave(path: Path) -> Array:
    """Return a wav file of 16-bit samples as one channel at 32 kHz."""
    rate_hz, samples = wavfile.read(path)
    if samples.ndim > 1:
        samples = samples.mean(axis=1)
    common = int(np.gcd(rate_hz, RATE_HZ))
    return np.asarray(resample_poly(samples / 32768.0, RATE_HZ // common, rate_hz // common), np.float32)
