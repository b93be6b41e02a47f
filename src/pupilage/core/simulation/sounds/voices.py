"""People who talk without saying anything: made syllables, for talk, babble and a television."""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.simulation.sounds.tones import band_noise, damped, glide, resonance, seconds

VOWELS_HZ = (
    (730, 1090, 2440),
    (530, 1840, 2480),
    (390, 1990, 2550),
    (270, 2290, 3010),
    (570, 840, 2410),
    (440, 1020, 2240),
)
"""First three resonances of six vowels (Peterson and Barney 1952, Table II, men; from memory)."""
WIDTHS_HZ = (80, 110, 160)


@dataclass(frozen=True)
class Voice:
    """One speaker: pitch, length of the vocal tract against a man's, syllables a second, breath."""

    pitch_hz: float
    tract: float
    pace: float
    breath: float

    @classmethod
    def drawn(cls, rng: Generator) -> "Voice":
        """Return some speaker, 85 to 300 Hz."""
        pitch = float(rng.uniform(85, 300))
        return cls(
            pitch,
            0.92 + 0.28 * (pitch - 85) / 215 + rng.normal(0, 0.04),
            rng.uniform(3.2, 5.5),
            rng.uniform(0.01, 0.12),
        )

    def talk(self, duration_s: float, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
        """Return talk of about that length: phrases of syllables with breaths between."""
        parts: list[NDArray[np.float64]] = []
        n, wanted = 0, int(duration_s * rate_hz)
        while n < wanted:
            for _ in range(int(rng.integers(3, 14))):
                parts.append(self._syllable(rng, rate_hz) * rng.uniform(0.5, 1.0))
            parts.append(np.zeros(int(rng.uniform(0.1, 0.6) * rate_hz)))
            n = sum(len(part) for part in parts)
        return np.concatenate(parts)[:wanted]

    def _syllable(self, rng: Generator, rate_hz: int) -> NDArray[np.float64]:
        length = rng.uniform(0.6, 1.5) / self.pace
        onset = _consonant(rng, rate_hz)
        t = seconds(max(length - len(onset) / rate_hz, 0.06), rate_hz)
        along = t / t[-1]
        pitch = self.pitch_hz * rng.normal(1.0, 0.12) * (1 + rng.uniform(-0.25, 0.2) * along)
        n = int(min(40, 5000 / self.pitch_hz))
        source = glide(pitch, 1.0 / np.arange(1, n + 1) ** 0.9, rate_hz)
        source += self.breath * band_noise(len(t), 500, 6000, rng, rate_hz=rate_hz)
        vowel = VOWELS_HZ[int(rng.integers(len(VOWELS_HZ)))]
        shaped = sum(
            (resonance(source, freq * self.tract, width, rate_hz) * gain)
            for freq, width, gain in zip(vowel, WIDTHS_HZ, (1.0, 0.6, 0.3), strict=True)
        )
        swell = np.minimum(1, along / 0.15) * np.minimum(1, (1 - along) / 0.25)
        body = np.asarray(shaped) * swell
        return np.concatenate([onset * 0.35 * (np.abs(body).max() + 1e-9), body])


def _consonant(rng: Generator, rate_hz: int) -> NDArray[np.float64]:
    """Return a hiss, a burst of the lips, or nothing, with a peak near one."""
    kind = rng.random()
    if kind < 0.3:
        t = seconds(rng.uniform(0.05, 0.14), rate_hz)
        low = rng.uniform(1500, 5000)
        hiss = band_noise(len(t), low, min(2.2 * low, 0.45 * rate_hz), rng, rate_hz=rate_hz)
        return np.asarray(0.3 * hiss * np.sin(np.pi * t / t[-1]))
    if kind < 0.7:
        t = seconds(0.03, rate_hz)
        low = rng.uniform(400, 3500)
        burst = band_noise(len(t), low, min(2.5 * low, 0.45 * rate_hz), rng, rate_hz=rate_hz) * np.exp(
            -t / rng.uniform(0.003, 0.012)
        )
        return np.concatenate([np.zeros(int(0.03 * rate_hz)), 0.35 * burst])
    return np.zeros(1)


def babble(duration_s: float, rng: Generator, *, rate_hz: int, n_voices: int = 6) -> NDArray[np.float64]:
    """Return several people talking at once."""
    return np.asarray(sum(Voice.drawn(rng).talk(duration_s, rng, rate_hz=rate_hz) for _ in range(n_voices)))


def television(duration_s: float, rng: Generator, *, rate_hz: int) -> NDArray[np.float64]:
    """Return one voice in front of chords that change every two seconds or so."""
    talk = Voice.drawn(rng).talk(duration_s, rng, rate_hz=rate_hz)
    music = np.zeros_like(talk)
    at = 0
    while at < len(music):
        t = seconds(rng.uniform(1.0, 3.0), rate_hz)[: len(music) - at]
        root = 110.0 * 2 ** (rng.integers(0, 18) / 12)
        chord = [root, root * 2 ** (4 / 12), root * 2 ** (7 / 12), 2 * root, 4 * root]
        music[at : at + len(t)] += damped(chord, [1.2] * 5, [1, 0.7, 0.7, 0.4, 0.2], t)
        at += len(t)
    return np.asarray(talk / (np.std(talk) + 1e-9) + 0.4 * music / (np.std(music) + 1e-9))
