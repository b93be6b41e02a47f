"""What else is heard: pink noise, and the babble of six voices made of two real people's telephone prompts."""

from enum import StrEnum
from functools import cache
from pathlib import Path

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import resample_poly

from pupilage.cli.made_sessions.rooms import SPEECH_LEVEL
from pupilage.cli.made_sessions.voices import RATE_HZ, read_wave
from pupilage.core.errors import InvalidInput

PROMPTS = Path("/usr/share/asterisk/sounds")
Array = NDArray[np.float32]


class Background(StrEnum):
    """Kind of noise behind a session."""

    PINK = "pink"
    BABBLE = "babble"


def background(kind: Background, n: int, snr_db: float, rng: Generator) -> Array:
    """Return n samples of noise, `snr_db` below speech at the usual distance."""
    made = _pink(n, rng) if kind is Background.PINK else _babble(n, rng)
    level = SPEECH_LEVEL * 10.0 ** (-snr_db / 20.0)
    return np.asarray(made * (level / (np.sqrt(np.mean(made**2)) + 1e-12)), np.float32)


def _pink(n: int, rng: Generator) -> Array:
    spectrum = np.fft.rfft(rng.standard_normal(n))
    return np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 40.0)), n).astype(np.float32)


def _babble(n: int, rng: Generator) -> Array:
    laid = np.zeros(n, np.float32)
    for number in range(6):
        voice = _prompts(("en_US_f_Allison", "fr_CA_f_June")[number % 2])
        slower = rng.integers(85, 118)
        at = int(rng.integers(len(voice) - 1))
        piece = np.resize(np.roll(voice, -at), int(n * slower / 100) + 1000)
        laid += resample_poly(piece, 100, slower)[:n].astype(np.float32)
    return laid


@cache
def _prompts(folder: str) -> Array:
    """Return a quarter of an hour of one speaker's prompts without pauses."""
    files = sorted((PROMPTS / folder).rglob("*.wav"))
    if not files:
        raise InvalidInput.of(
            "voices",
            "The babble is made of telephone prompts that are not installed. On Debian: "
            "apt-get install asterisk-core-sounds-en-wav asterisk-core-sounds-fr-wav.",
        )
    sounds, n = [], 0
    for file in files:
        sounds.append(read_wave(file))
        n += len(sounds[-1])
        if n > 900 * RATE_HZ:
            break
    return np.concatenate(sounds)
