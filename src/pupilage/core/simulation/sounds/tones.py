"""The parts all made sounds share: damped partials, filtered noise, glides, a room, levels."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import butter, lfilter, sosfilt

Wave = NDArray[np.float32]
Row = Sequence[float] | NDArray[np.floating[Any]]


def seconds(duration_s: float, rate_hz: int) -> NDArray[np.float64]:
    """Return the instants of a sound of that length, in seconds."""
    return np.arange(max(int(duration_s * rate_hz), 1)) / rate_hz


def damped(freqs_hz: Row, decays_s: Row, gains: Row, t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a struck body: partials that ring out, `gain · exp(−t/decay) · sin(2πft)`."""
    out = np.zeros_like(t)
    for freq, decay, gain in zip(freqs_hz, decays_s, gains, strict=True):
        out += gain * np.exp(-t / decay) * np.sin(2 * np.pi * freq * t)
    return out


def glide(f0_hz: NDArray[np.float64], gains: Row, rate_hz: int) -> NDArray[np.float64]:
    """Return harmonics of a gliding pitch; those above 0.45 of the rate are silent."""
    turn = np.exp(2j * np.pi * np.cumsum(f0_hz) / rate_hz)
    power = np.ones_like(turn)
    out = np.zeros_like(f0_hz)
    top_hz = float(f0_hz.max())
    for number, gain in enumerate(gains, start=1):
        power *= turn
        audible = 1.0 if number * top_hz < 0.45 * rate_hz else number * f0_hz < 0.45 * rate_hz
        out += gain * power.imag * audible
    return out


def band_noise(n: int, low_hz: float, high_hz: float, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return noise between two frequencies, of unit level."""
    edges = np.clip(np.array([low_hz, high_hz]) / (rate_hz / 2), 1e-4, 0.98)
    noise = sosfilt(butter(2, edges, "bandpass", output="sos"), rng.standard_normal(n))
    return np.asarray(noise / (np.sqrt(np.mean(noise**2)) + 1e-12))


def pink(n: int, rng: Generator) -> NDArray[np.float64]:
    """Return noise whose power falls by 3 dB an octave, of unit level."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    spectrum /= np.sqrt(np.maximum(np.arange(len(spectrum)), 1.0))
    noise = np.fft.irfft(spectrum, n)
    return np.asarray(noise / (np.sqrt(np.mean(noise**2)) + 1e-12))


def resonance(wave: NDArray[np.float64], freq_hz: float, width_hz: float, rate_hz: int) -> NDArray[np.float64]:
    """Return the sound through one resonance (a two-pole filter of unit gain at its peak)."""
    radius = np.exp(-np.pi * width_hz / rate_hz)
    angle = 2 * np.pi * freq_hz / rate_hz
    gain = (1 - radius) * np.sqrt(1 - 2 * radius * np.cos(2 * angle) + radius**2)
    return np.asarray(lfilter([gain], [1, -2 * radius * np.cos(angle), radius**2], wave))


def in_room(wave: NDArray[np.float64], rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return the sound with some early reflections and a tail that decays by 60 dB in 0.15 to 0.5 s."""
    decay_s = rng.uniform(0.15, 0.5)
    n_tail = int(0.6 * decay_s * rate_hz)
    tail = rng.standard_normal(n_tail) * np.exp(-6.9 * np.arange(n_tail) / (decay_s * rate_hz))
    tail *= rng.uniform(0.05, 0.25) / np.sqrt(np.sum(tail**2))
    tail[: int(0.004 * rate_hz)] = 0.0
    tail[0] = 1.0
    for _ in range(3):
        tail[int(rng.uniform(0.002, 0.02) * rate_hz)] += rng.uniform(-0.3, 0.3)
    size = len(wave) + n_tail - 1
    padded = 1 << (size - 1).bit_length()
    return np.asarray(np.fft.irfft(np.fft.rfft(wave, padded) * np.fft.rfft(tail, padded), padded)[:size])


def at_peak(wave: NDArray[np.float64], peak: float) -> Wave:
    """Return the sound scaled to a peak value."""
    return np.asarray(wave * (peak / (np.abs(wave).max() + 1e-12)), np.float32)


def at_level(wave: NDArray[np.float64], level_dbfs: float) -> Wave:
    """Return the sound scaled to a root mean square in dB of full scale (a value of 1 is 0 dB)."""
    rms = np.sqrt(np.mean(wave**2)) + 1e-12
    return np.asarray(wave * (10 ** (level_dbfs / 20) / rms), np.float32)
