"""A sample made to sound as if said again: higher or lower, faster or slower, nearer or further, in another room.

All are plain signal processing on arrays, drawn by a seeded generator.
"""

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.signal import fftconvolve, lfilter

from pupilage.core.recordings.words.frames import RATE_HZ

Array = NDArray[np.float32]

PITCH_SEMITONES = 1.3
SPEED_SPREAD = 0.13
P_EXCITED = 0.25
EXCITED_SEMITONES = (1.0, 3.5)
_GRAIN = 480  # 30 ms


def said_again(sound: Array, rng: Generator) -> Array:
    """Return the sound with another pitch, speed, tone and room; the word still starts at its first sample."""
    semitones = rng.normal(0.0, PITCH_SEMITONES)
    if rng.random() < P_EXCITED:
        semitones += rng.uniform(*EXCITED_SEMITONES)
    pitch = 2.0 ** (semitones / 12.0)
    speed = float(np.exp(rng.normal(0.0, SPEED_SPREAD)))
    said = resampled(stretched(sound, pitch / speed), pitch)
    said = tilted(said, rng.uniform(-0.5, 0.5))
    if rng.random() < 0.6:
        said = in_a_room(said, rng)
    return np.asarray(said * level_like(sound, said), np.float32)


def level_like(wanted: Array, given: Array) -> float:
    """Return the factor that gives `given` the effective level of `wanted`."""
    return float(np.sqrt((np.mean(wanted**2) + 1e-12) / (np.mean(given**2) + 1e-12)))


def resampled(sound: Array, factor: float) -> Array:
    """Return the sound played `factor` times as fast: pitch and speed change together."""
    n = max(int(len(sound) / factor), 1)
    return np.asarray(np.interp(np.arange(n) * factor, np.arange(len(sound)), sound), np.float32)


def stretched(sound: Array, factor: float) -> Array:
    """Return the sound `factor` times as long at the same pitch.

    Overlapping grains of 30 ms are laid down at another spacing, each moved to where it fits what stands there best
    (waveform similarity overlap-add: Verhelst and Roelands, 1993, ICASSP, from memory).
    """
    if abs(factor - 1.0) < 0.01 or len(sound) < 3 * _GRAIN:
        return sound
    hop, reach = _GRAIN // 2, _GRAIN // 4
    window = np.hanning(_GRAIN).astype(np.float32)
    padded = np.concatenate([np.zeros(reach, np.float32), sound, np.zeros(2 * _GRAIN + reach, np.float32)])
    n_grains = int(len(sound) * factor / hop)
    made = np.zeros((n_grains + 2) * hop, np.float32)
    follows = padded[reach : reach + _GRAIN]
    for number in range(n_grains):
        near = min(round(number * hop / factor), len(sound))
        search = padded[near : near + _GRAIN + 2 * reach]
        at = near + int(np.argmax(np.correlate(search, follows, "valid")))
        made[number * hop : number * hop + _GRAIN] += window * padded[at : at + _GRAIN]
        follows = padded[at + hop : at + hop + _GRAIN]
        if len(follows) < _GRAIN:
            break
    return made[: int(len(sound) * factor)]


def tilted(sound: Array, tilt: float) -> Array:
    """Return the sound darker (tilt below 0) or brighter (above), between -1 and 1, by a filter of the first order."""
    return np.asarray(
        lfilter([1.0, -tilt] if tilt > 0 else [1.0 + tilt], [1.0] if tilt > 0 else [1.0, tilt], sound), np.float32
    )


def in_a_room(sound: Array, rng: Generator) -> Array:
    """Return the sound with the echo of a room: noise that decays by 60 dB in 0.1 to 0.45 s."""
    decay_s = rng.uniform(0.1, 0.45)
    n = int(decay_s * RATE_HZ)
    echo = rng.standard_normal(n) * np.exp(-6.9 * np.arange(n) / n)
    echo *= rng.uniform(0.15, 0.6) / np.sqrt(np.sum(echo**2))
    echo[0] = 1.0
    return np.asarray(fftconvolve(sound, echo.astype(np.float32)), np.float32)


def pink(n: int, rng: Generator) -> Array:
    """Return noise whose power falls as 1/f, of effective level 1."""
    n_quick = next_fast_len(n, real=True)  # a length that is a large prime would take a hundred times as long
    spectrum = rfft(rng.standard_normal(n_quick, np.float32))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum), dtype=np.float32), 1.0))
    noise = irfft(spectrum, n_quick)[:n]
    return np.asarray(noise / (np.std(noise) + 1e-12), np.float32)
