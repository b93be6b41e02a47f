"""Bangs of a household that are no click and no dog: knocks, claps, jingles, crockery, scissors, doors, toys."""

from collections.abc import Callable

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.simulation.sounds.tones import band_noise, damped, glide, seconds


def knock(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return knuckles on wood, one to four times."""
    t = seconds(0.12, rate_hz)
    freqs = rng.uniform(90, 700, 5)
    thud = damped(freqs, rng.uniform(0.008, 0.03, 5), rng.uniform(0.3, 1, 5), t)
    thud += 0.25 * band_noise(len(t), 500, 4000, rng, rate_hz=rate_hz) * np.exp(-t / 0.003)
    return _repeated(thud, int(rng.integers(1, 5)), rng.uniform(0.14, 0.3), rate_hz=rate_hz)


def clap(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return hands clapped."""
    t = seconds(0.15, rate_hz)
    low = rng.uniform(500, 1200)
    return np.asarray(band_noise(len(t), low, 4 * low, rng, rate_hz=rate_hz) * np.exp(-t / rng.uniform(0.008, 0.03)))


def jingle(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a dog's tags or a bunch of keys: several high partials struck again and again."""
    out = np.zeros(int(0.9 * rate_hz))
    freqs = rng.uniform(2500, 11000, 6)
    for _ in range(int(rng.integers(4, 12))):
        t = seconds(0.2, rate_hz)
        at = int(rng.uniform(0, 0.65) * rate_hz)
        ring = damped(freqs * (freqs < 0.45 * rate_hz), rng.uniform(0.02, 0.09, 6), rng.uniform(0, 1, 6), t)
        out[at : at + len(t)] += ring * rng.uniform(0.3, 1)
    return out


def crockery(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a plate or a bowl put down."""
    t = seconds(0.4, rate_hz)
    ring = damped(rng.uniform(900, 5500, 6), rng.uniform(0.01, 0.12, 6), rng.uniform(0.1, 1, 6), t)
    return np.asarray(ring + 0.5 * band_noise(len(t), 800, 6000, rng, rate_hz=rate_hz) * np.exp(-t / 0.004))


def scissors(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a rasp of 60 to 150 ms."""
    t = seconds(rng.uniform(0.06, 0.15), rate_hz)
    rasp = band_noise(len(t), 2500, min(11000, 0.45 * rate_hz), rng, rate_hz=rate_hz)
    return np.asarray(rasp * np.sin(np.pi * t / t[-1]) * (1 + 0.6 * np.sin(2 * np.pi * rng.uniform(60, 140) * t)))


def door(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a door that falls shut, with its latch."""
    t = seconds(0.5, rate_hz)
    slam = band_noise(len(t), 40, 350, rng, rate_hz=rate_hz) * np.exp(-t / rng.uniform(0.05, 0.12))
    latch = damped(rng.uniform(700, 3500, 4), rng.uniform(0.003, 0.01, 4), rng.uniform(0.1, 0.4, 4), t)
    return np.asarray(slam + np.roll(latch, int(0.03 * rate_hz)))


def rubber_toy(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a squeaking toy: a rough tone that rises and falls."""
    t = seconds(rng.uniform(0.1, 0.35), rate_hz)
    along = t / t[-1]
    pitch = rng.uniform(700, 1800) * (1 + rng.uniform(0.1, 0.5) * np.sin(np.pi * along))
    squeak = glide(pitch, (1, 0.8, 0.7, 0.5, 0.4), rate_hz) + 0.4 * band_noise(len(t), 1000, 7000, rng, rate_hz=rate_hz)
    return np.asarray(squeak * np.sin(np.pi * along))


def hum(duration_s: float, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return a fridge or a fan: mains and its harmonics with noise under them."""
    t = seconds(duration_s, rate_hz)
    partials = sum(gain * np.sin(2 * np.pi * 50 * k * t) for k, gain in ((1, 1), (2, 0.8), (4, 0.3)))
    return np.asarray(partials + band_noise(len(t), 60, 1500, rng, rate_hz=rate_hz))


BANGS: tuple[Callable[..., NDArray[np.float64]], ...] = (knock, clap, jingle, crockery, scissors, door, rubber_toy)


def bang(rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return any one of the bangs."""
    return BANGS[int(rng.integers(len(BANGS)))](rng, rate_hz=rate_hz)


def _repeated(wave: NDArray[np.float64], n: int, every_s: float, *, rate_hz: int) -> NDArray[np.float64]:
    step = int(every_s * rate_hz)
    out = np.zeros(step * (n - 1) + len(wave))
    for number in range(n):
        out[number * step : number * step + len(wave)] += wave
    return out
