"""The tape that one sample is learned from: said again and again, among other words, talk and noise."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.recordings.words.frames import RATE_HZ
from pupilage.core.recordings.words.surroundings import Surroundings, gain, in_noise, level_of, levelled, some
from pupilage.core.recordings.words.voicing import said_again, stretched, tilted

N_VOICINGS = 24
PIECE_S = 12.0
_LEAD_IN_S, _LEAD_OUT_S = 0.5, 1.0
P_OTHER, P_TALK = 0.5, 0.25
"""How often another word, or a stretch of talk, comes between two voicings."""
N_TALKS, NOISES_DB = 6, (0.0, 20.0, 20.0)
"""Talk is said again so many times; stretches of nothing but noise stand this far under speech."""
_SPEECH_LEVEL = 0.06

Array = NDArray[np.float32]


@dataclass
class Piece:
    """A stretch of tape of about 12 s: its sound, where the sample starts in it, and where other words do."""

    sounds: list[Array] = field(default_factory=lambda: [_silence(_LEAD_IN_S)])
    starts_s: list[float] = field(default_factory=list)
    others_s: list[float] = field(default_factory=list)
    n: int = round(_LEAD_IN_S * RATE_HZ)

    def lay(self, sound: Array) -> float:
        """Lay a sound down and return where it starts."""
        at_s = self.n / RATE_HZ
        self.sounds.append(sound)
        self.n += len(sound)
        return at_s

    @property
    def sound(self) -> Array:
        return np.concatenate([*self.sounds, _silence(_LEAD_OUT_S)])


def pieces_of(sample: Array, around: Surroundings, rng: Generator) -> Iterator[tuple[Array, Piece]]:
    """Yield the tape of a sample piece by piece, each in one noise: (sound, where words are in it)."""
    level = level_of(sample)
    talk = levelled(around.talk, level)
    piece = Piece()
    for number in range(N_VOICINGS):
        piece.starts_s.append(piece.lay(said_again(sample, rng) * gain(rng)))
        piece.lay(_pause(rng))
        if around.others and rng.random() < P_OTHER:
            other = around.others[int(rng.integers(len(around.others)))]
            piece.others_s.append(piece.lay(levelled(other, level) * gain(rng)))
            piece.lay(_pause(rng))
        if len(talk) and rng.random() < P_TALK:
            piece.lay(some(talk, rng.uniform(0.3, 2.5), rng) * gain(rng))
            piece.lay(_pause(rng))
        if piece.n > PIECE_S * RATE_HZ or number == N_VOICINGS - 1:
            yield in_noise(piece.sound, level, around, rng), piece
            piece = Piece()


def wordless(around: Surroundings, rng: Generator) -> Iterator[Array]:
    """Yield tape without a word: the talk said again in other tones and speeds, and noise alone."""
    level = level_of(around.talk) or _SPEECH_LEVEL
    if len(around.talk):
        for _ in range(N_TALKS):
            again = stretched(around.talk, float(np.exp(rng.normal(0, 0.1))))
            yield in_noise(tilted(again, rng.uniform(-0.5, 0.5)) * gain(rng), level, around, rng)
    for under_db in NOISES_DB:
        yield in_noise(_silence(PIECE_S), level * 10 ** (-under_db / 20), around, rng)


def _pause(rng: Generator) -> Array:
    """Return a pause: as often short (40 to 250 ms) as long (to a second)."""
    return _silence(rng.uniform(0.04, 0.25) if rng.random() < 0.5 else rng.uniform(0.25, 1.0))


def _silence(duration_s: float) -> Array:
    return np.zeros(round(duration_s * RATE_HZ), np.float32)
