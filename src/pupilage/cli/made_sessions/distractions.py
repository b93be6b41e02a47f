"""Sounds that are no words: a dog, its tags, knocks, claps, doors, rubber toys; and the click of a box."""

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from pupilage.cli.made_sessions.voices import RATE_HZ

Array = NDArray[np.float32]


def click(rng: Generator) -> Array:
    """Return a box clicker's press and release: two bursts of ringing metal."""
    t = np.arange(round(0.02 * RATE_HZ)) / RATE_HZ
    ring = sum(np.sin(2 * np.pi * f * t + rng.uniform(0, 6)) for f in (2900.0, 4700.0, 7100.0)) * np.exp(-t / 0.002)
    gap = np.zeros(round(rng.uniform(0.05, 0.14) * RATE_HZ))
    return np.asarray(0.25 * np.concatenate([ring, gap, 0.6 * ring]), np.float32)


def bark(rng: Generator) -> Array:
    """Return one to three barks."""
    return _again(_buzz(rng.uniform(250, 600), 0.16, rng), int(rng.integers(1, 4)), 0.25)


def tags(rng: Generator) -> Array:
    """Return the jingle of tags."""
    t = np.arange(round(0.15 * RATE_HZ)) / RATE_HZ
    strokes = [
        sum(np.sin(2 * np.pi * rng.uniform(3500, 9000) * t) for _ in range(4)) * np.exp(-t / 0.03) for _ in range(6)
    ]
    return np.asarray(0.02 * np.concatenate(strokes), np.float32)


def knock(rng: Generator) -> Array:
    """Return knuckles on wood."""
    t = np.arange(round(0.1 * RATE_HZ)) / RATE_HZ
    return _again(0.3 * np.sin(2 * np.pi * rng.uniform(120, 400) * t) * np.exp(-t / 0.015), 3, 0.18)


def clap(rng: Generator) -> Array:
    """Return two claps."""
    t = np.arange(round(0.08 * RATE_HZ)) / RATE_HZ
    return _again(0.5 * _band(rng, len(t), 700, 4000) * np.exp(-t / 0.012), 2, 0.4)


def rasp(rng: Generator) -> Array:
    """Return a zip or scissors."""
    return np.asarray(0.2 * _band(rng, round(rng.uniform(0.1, 0.5) * RATE_HZ), 2500, 9000), np.float32)


def squeak(rng: Generator) -> Array:
    """Return a rubber toy."""
    t = np.arange(round(0.3 * RATE_HZ)) / RATE_HZ
    pitch = rng.uniform(900, 2200) * (1.0 + 0.3 * np.sin(np.pi * t / t[-1]))
    return np.asarray(0.08 * np.sin(2 * np.pi * np.cumsum(pitch) / RATE_HZ) * np.hanning(len(t)), np.float32)


def goose(rng: Generator) -> Array:
    """Return a bird's honk."""
    return _again(_buzz(rng.uniform(500, 800), 0.25, rng), 2, 0.3)


def door(rng: Generator) -> Array:
    """Return a door falling shut."""
    n = round(0.4 * RATE_HZ)
    return np.asarray(0.6 * _band(rng, n, 60, 500) * np.exp(-np.arange(n) / RATE_HZ / 0.07), np.float32)


DISTRACTIONS = (bark, tags, knock, clap, rasp, squeak, goose, door)


def _band(rng: Generator, n: int, low_hz: float, high_hz: float) -> NDArray[np.float64]:
    sos = butter(2, (low_hz, high_hz), "bandpass", fs=RATE_HZ, output="sos")
    return np.asarray(sosfilt(sos, rng.standard_normal(n)))


def _buzz(pitch_hz: float, duration_s: float, rng: Generator) -> Array:
    n = round(duration_s * RATE_HZ)
    along = np.arange(n) / n
    phase = np.cumsum(pitch_hz * (0.8 + 0.5 * np.sin(np.pi * along))) / RATE_HZ
    voice = sum(np.sin(2 * np.pi * k * phase) / k**0.7 for k in range(1, 10)) + 0.6 * rng.standard_normal(n)
    return np.asarray(0.06 * voice * np.hanning(n), np.float32)


def _again(sound: NDArray[np.floating], n: int, every_s: float) -> Array:
    laid = np.zeros(len(sound) + round(n * every_s * RATE_HZ), np.float32)
    for number in range(n):
        first = round(number * every_s * RATE_HZ)
        laid[first : first + len(sound)] += sound
    return laid
