"""Dogs from equations: barks, whines and howls; no recording of any dog is in them."""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.simulation.sounds.tones import band_noise, glide, resonance, seconds


@dataclass(frozen=True)
class Dog:
    """One dog's voice: pitch of bark and whine, two resonances of its mouth, roughness."""

    bark_hz: float
    whine_hz: float
    mouth_hz: tuple[float, float]
    rough: float
    bark_s: float

    @classmethod
    def drawn(cls, rng: Generator) -> "Dog":
        """Return some dog, from large (180 Hz) to toy (1100 Hz); own choice, wide on purpose."""
        size = rng.uniform(0.0, 1.0)
        bark = 180.0 * (1100.0 / 180.0) ** size * rng.uniform(0.85, 1.15)
        first = 450.0 * (1500.0 / 450.0) ** size * rng.uniform(0.8, 1.25)
        return cls(
            bark,
            rng.uniform(450, 1900),
            (first, first * rng.uniform(1.7, 2.8)),
            rng.uniform(0.1, 0.9),
            rng.uniform(0.08, 0.22),
        )

    def bark(self, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
        """Return one bark: a pitch that rises and falls, rough, with noise, through the mouth."""
        t = seconds(self.bark_s * rng.uniform(0.75, 1.35), rate_hz)
        along = t / t[-1]
        top = rng.uniform(0.25, 0.5)
        arch = np.where(along < top, along / top, (1 - along) / (1 - top))
        pitch = self.bark_hz * rng.normal(1.0, 0.07) * (0.7 + 0.45 * arch)
        pitch *= 1 + 0.03 * self.rough * band_noise(len(t), 20, 200, rng, rate_hz=rate_hz)
        n = int(min(24, 7000 / self.bark_hz))
        voice = glide(pitch, 1.0 / np.arange(1, n + 1) ** rng.uniform(0.5, 1.0), rate_hz)
        voice *= 1 + 0.7 * self.rough * np.sin(np.pi * np.cumsum(pitch) / rate_hz)
        breath = band_noise(len(t), 300, 6000, rng, rate_hz=rate_hz) * (0.3 + 0.6 * self.rough) * np.std(voice)
        swell = np.minimum(1, along / rng.uniform(0.04, 0.15)) * np.exp(-2.5 * np.maximum(along - top, 0))
        swell *= np.minimum(1, (1 - along) / 0.15)
        return self._through_mouth((voice + breath) * swell, rate_hz)

    def whine(self, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
        """Return one whine: a thin gliding tone of 0.25 to 1.3 s."""
        t = seconds(rng.uniform(0.25, 1.3), rate_hz)
        along = t / t[-1]
        course = 1 + rng.uniform(-0.25, 0.35) * along + rng.uniform(-0.2, 0.3) * np.sin(np.pi * along)
        pitch = self.whine_hz * rng.normal(1.0, 0.1) * course
        pitch *= 1 + 0.015 * np.sin(2 * np.pi * rng.uniform(5, 11) * t + rng.uniform(0, 6))
        gains = (1.0, rng.uniform(0.1, 0.5), rng.uniform(0.05, 0.25), rng.uniform(0.0, 0.12))
        voice = glide(pitch, gains, rate_hz) * (1 + 0.25 * band_noise(len(t), 3, 15, rng, rate_hz=rate_hz))
        breath = band_noise(len(t), 800, 7000, rng, rate_hz=rate_hz) * rng.uniform(0.01, 0.06)
        return np.asarray((voice + breath) * np.sin(np.pi * along) ** 0.6)

    def _through_mouth(self, wave: NDArray[np.float64], rate_hz: int) -> NDArray[np.float64]:
        first, second = self.mouth_hz
        shaped = resonance(wave, first, first / 3, rate_hz) + 0.6 * resonance(wave, second, second / 4, rate_hz)
        return np.asarray(shaped + 0.12 * wave)
