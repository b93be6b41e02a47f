"""Where it is said: distance, tone and room of one utterance. Other code than what learning varies its samples with."""

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from pupilage.cli.made_sessions.voices import RATE_HZ

Array = NDArray[np.float32]
SPEECH_LEVEL = 0.06
"""Effective level of speech at the usual distance."""


def heard_in_room(sound: Array, rng: Generator, *, echo_s: float) -> Array:
    """Return an utterance at a distance of -8 to +2 dB, with its own tone, in a room of that echo time."""
    loud = float(np.sqrt(np.mean(sound**2))) + 1e-9
    level = SPEECH_LEVEL * 10.0 ** (rng.uniform(-8.0, 2.0) / 20.0)
    return np.asarray(_echoed(_toned(sound, rng), rng, echo_s) * (level / loud), np.float32)


def _toned(sound: Array, rng: Generator) -> Array:
    """Return the sound with more or less (-5 to +5 dB) above a corner of 1 to 3 kHz."""
    high = sosfilt(butter(1, rng.uniform(1000, 3000), "high", fs=RATE_HZ, output="sos"), sound)
    return np.asarray(sound + (10.0 ** (rng.uniform(-5.0, 5.0) / 20.0) - 1.0) * high, np.float32)


def _echoed(sound: Array, rng: Generator, echo_s: float) -> Array:
    """Return the sound with six early reflections and a tail."""
    n = max(round(echo_s * RATE_HZ), 64)
    response = np.zeros(n)
    response[0] = 1.0
    for delay_s in rng.uniform(0.003, 0.03, 6):
        response[min(round(delay_s * RATE_HZ), n - 1)] += rng.choice([-1, 1]) * rng.uniform(0.05, 0.3)
    tail = rng.standard_normal(n) * 10.0 ** (-3.0 * np.arange(n) / n)
    tail[: round(0.01 * RATE_HZ)] = 0.0
    response += rng.uniform(0.05, 0.35) * tail / (np.sqrt(np.sum(tail**2)) + 1e-9)
    return np.asarray(fftconvolve(sound, response), np.float32)
