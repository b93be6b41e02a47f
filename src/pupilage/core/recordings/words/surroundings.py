"""What a sample is set among when it is learned from: plain talk, the usual background, other words."""

from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.recordings.words.frames import RATE_HZ
from pupilage.core.recordings.words.voicing import pink, tilted

Array = NDArray[np.float32]


P_BACKGROUNDS = (0.2, 0.25, 0.1, 0.45)
"""How often a tape is nearly free of noise, in pink noise, in the usual background, in many voices. Chosen on made
voices: with less babble it is the words in babble that are missed."""
BABBLE_TILT = (-0.3, 0.9)
"""Other people's voices are mostly brighter than babble made of one's own, and then hide more of a word."""


def _nothing() -> Array:
    return np.zeros(0, np.float32)


@dataclass(frozen=True)
class Surroundings:
    """Sound of one person at 16 kHz; each may be empty. others: samples of words, which teach nothing here."""

    talk: Array = field(default_factory=_nothing)
    background: Array = field(default_factory=_nothing)
    others: tuple[Array, ...] = ()


def in_noise(sound: Array, level: float, around: Surroundings, rng: Generator) -> Array:
    """Return a sound in one of four backgrounds: nearly none, pink, the usual one, or many voices.

    level: effective level of speech in it; the noise is 6 to 30 dB under that, or 40.
    """
    n, kind = len(sound), int(rng.choice(4, p=P_BACKGROUNDS))
    if kind == 2 and len(around.background) > RATE_HZ:
        noise = np.resize(around.background, n)
    elif kind == 3 and len(around.talk) > RATE_HZ:
        noise = tilted(_babble(around.talk, n, rng), rng.uniform(*BABBLE_TILT))
    else:
        noise = pink(n, rng)
    snr_db = 40.0 if kind == 0 else rng.uniform(6.0, 30.0)
    return np.asarray(sound + levelled(noise, level * 10.0 ** (-snr_db / 20.0)), np.float32)


def some(sound: Array, duration_s: float, rng: Generator) -> Array:
    """Return a stretch of a sound, from anywhere in it."""
    n = min(round(duration_s * RATE_HZ), len(sound))
    at = int(rng.integers(len(sound) - n + 1))
    return sound[at : at + n]


def gain(rng: Generator) -> float:
    """Return how much nearer or further something is said: -9 to +4 dB, as a factor."""
    return float(10.0 ** (rng.uniform(-9.0, 4.0) / 20.0))


def level_of(sound: Array) -> float:
    """Return the effective level of a sound; 0 for none."""
    return float(np.sqrt(np.mean(sound**2))) if len(sound) else 0.0


def levelled(sound: Array, level: float) -> Array:
    """Return the sound at an effective level; silence stays silence."""
    loud = level_of(sound)
    return np.asarray(sound * (level / loud), np.float32) if loud > 1e-6 else sound


def _babble(talk: Array, n: int, rng: Generator) -> Array:
    """Return many voices made of one: its talk at other pitches and speeds, from other places, laid over itself."""
    laid = np.zeros(n, np.float32)
    for _ in range(5):
        factor = rng.uniform(0.75, 1.35)
        voice = np.interp(np.arange(int(len(talk) / factor)) * factor, np.arange(len(talk)), talk)
        laid += np.roll(np.resize(voice, n), int(rng.integers(n))).astype(np.float32)
    return laid
