"""A box clicker and a whistle of one's own: each made once, then sounded many times with small differences."""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.simulation.sounds.tones import band_noise, damped, glide, seconds


@dataclass(frozen=True)
class Clicker:
    """The plate of one box clicker: its partials, and how the release differs from the press."""

    freqs_hz: NDArray[np.float64]
    decays_s: NDArray[np.float64]
    gains: NDArray[np.float64]
    release_gains: NDArray[np.float64]
    release_after_s: float

    @classmethod
    def drawn(cls, rng: Generator) -> "Clicker":
        """Return some clicker: 4 to 7 partials between 1.2 and 11 kHz that ring for 0.8 to 6 ms (own choice)."""
        n = int(rng.integers(4, 8))
        freqs = np.sort(rng.uniform(1200, 11000, n))
        gains = rng.uniform(0.2, 1.0, n)
        return cls(
            freqs, rng.uniform(0.0008, 0.006, n), gains, gains * rng.uniform(0.5, 1.3, n), rng.uniform(0.06, 0.22)
        )

    def press(self, rng: Generator, *, rate_hz: int, double: bool = True) -> NDArray[np.float64]:
        """Return one use of the box; with `double`, press and release."""
        first = self._strike(self.gains, rng, rate_hz)
        if not double:
            return first
        gap = int(self.release_after_s * rng.uniform(0.7, 1.4) * rate_hz)
        out = np.zeros(gap + len(first))
        out[: len(first)] += first
        out[gap:] += self._strike(self.release_gains, rng, rate_hz) * rng.uniform(0.35, 0.8)
        return out

    def _strike(self, gains: NDArray[np.float64], rng: Generator, rate_hz: int) -> NDArray[np.float64]:
        t = seconds(0.05, rate_hz)
        n = len(gains)
        freqs = self.freqs_hz * rng.normal(1.0, 0.006, n)
        ring = damped(freqs * (freqs < 0.45 * rate_hz), self.decays_s, gains * rng.uniform(0.75, 1.25, n), t)
        snap = band_noise(len(t), 1500, min(12000, 0.45 * rate_hz), rng, rate_hz=rate_hz) * np.exp(-t / 0.0007)
        return np.asarray(ring + 0.5 * snap)


@dataclass(frozen=True)
class Whistle:
    """A whistle: its tone, how the tone moves, how long it sounds, how much air is heard, and a warble of a pea."""

    tone_hz: float
    bend: float
    duration_s: float
    air: float
    warble_hz: float

    @classmethod
    def drawn(cls, rng: Generator) -> "Whistle":
        """Return some whistle between 1.2 and 5 kHz, 0.15 to 0.9 s long (own choice)."""
        warble = float(rng.uniform(25, 45)) if rng.random() < 0.3 else 0.0
        return cls(
            rng.uniform(1200, 5000), rng.uniform(-0.25, 0.25), rng.uniform(0.15, 0.9), rng.uniform(0.02, 0.12), warble
        )

    def blow(self, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
        """Return one blast, a little different each time."""
        t = seconds(self.duration_s * rng.uniform(0.85, 1.15), rate_hz)
        along = t / t[-1] if len(t) > 1 else t
        tone = self.tone_hz * rng.normal(1.0, 0.015) * (1 + self.bend * along)
        if self.warble_hz:
            tone = tone * (1 + 0.015 * np.sin(2 * np.pi * self.warble_hz * t))
        gains = (1.0, rng.uniform(0.02, 0.12), rng.uniform(0.0, 0.04))
        breath = band_noise(len(t), 1000, min(8000, 0.45 * rate_hz), rng, rate_hz=rate_hz)
        edge = np.minimum(1.0, np.minimum(t, t[-1] - t) / 0.015)
        return np.asarray((glide(tone, gains, rate_hz) + self.air * breath) * np.clip(edge, 0, 1))
