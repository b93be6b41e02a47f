"""Whistles, of the mouth or a pipe: lasting tones that are no speech, learned from samples or not."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.logistic import Logistic
from pupilage.core.recordings.noises.stretches import Samples, Stretch, Stretches
from pupilage.core.recordings.noises.tones import CONTEXT_S, Tone, find_tones
from pupilage.core.recordings.noises.weights import shipped
from pupilage.core.recordings.stored_arrays import from_bytes, to_bytes

N_SAMPLES = 3
LEAST_CONFIDENCE = 0.1
_OWN_S = 10.0
_KIND = "whistle"

Array = NDArray[np.float64]


@dataclass(frozen=True)
class WhistleSound:
    """What one whistle sounds like: figures and course of the tones it was learned from, and what it is called."""

    label: str
    figures: Array
    course: Array

    @property
    def n_samples(self) -> int:
        """How many whistles it was learned from."""
        return len(self.figures)

    @classmethod
    def of(cls, tone: Tone, label: str = "whistle") -> "WhistleSound":
        """Return what one tone sounds like."""
        return cls(label, np.array([tone.figures]), np.array([tone.course]))

    @classmethod
    def joined(cls, label: str, sounds: Sequence["WhistleSound"]) -> "WhistleSound":
        """Return one whistle of samples that were kept each by itself. Raises InvalidInput with fewer than three."""
        n = sum(one.n_samples for one in sounds)
        if n < N_SAMPLES:
            raise InvalidInput([_too_few(n)])
        return cls(
            label, np.concatenate([one.figures for one in sounds]), np.concatenate([one.course for one in sounds])
        )

    def to_bytes(self) -> bytes:
        """Return it as bytes to be kept; it holds no sound that could be played."""
        return to_bytes(_KIND, {"figures": self.figures, "course": self.course}, texts={"label": self.label})

    @classmethod
    def from_bytes(cls, kept: bytes) -> "WhistleSound":
        """Return what `to_bytes` gave. Raises InvalidInput for damaged bytes."""
        arrays, texts = from_bytes(_KIND, kept)
        return cls(str(texts["label"]), arrays["figures"].astype(float), arrays["course"].astype(float))


def hear_whistle(cut: Samples, rate_hz: int, label: str = "whistle") -> WhistleSound | None:
    """Return what one blast sounds like in a cut sample (0.1 s to 3 s): its longest tone; None where there is none."""
    found = find_tones(cut, rate_hz)
    if not found:
        return None
    return WhistleSound.of(max(found, key=lambda tone: tone.n), label)


def learn_whistle(label: str, samples: Sequence[Samples], rate_hz: int) -> WhistleSound:
    """Return the sound of a whistle from cut samples, one blast in each (0.1 s to 3 s).

    Raises: InvalidInput with fewer than three samples, or naming each sample in which no tone is heard.
    """
    heard = [hear_whistle(cut, rate_hz, label) for cut in samples]
    problems = [_too_few(len(samples))] if len(samples) < N_SAMPLES else []
    problems += [
        Problem("whistles", "No tone is heard in whistle {n}; mark another.", n=number)
        for number, one in enumerate(heard, start=1)
        if one is None
    ]
    if problems:
        raise InvalidInput(problems)
    return WhistleSound.joined(label, [one for one in heard if one is not None])


def _too_few(n: int) -> Problem:
    return Problem("whistles", "{n} whistles are too few to learn from; mark 3 or more.", n=n)


def whistle_features(tones: Sequence[Tone], sound: WhistleSound | None) -> Array:
    """Return what the whistle weights look at: each figure and its square, (n, 18) unlearned or (n, 26) learned.

    Learned adds the distance to the samples in pitch, in the course of the pitch about its mean, in length, purity.
    """
    plain = np.array([one.figures for one in tones]).reshape(-1, 9)
    if sound is None:
        return np.hstack([plain, plain**2])
    near = np.array([_nearness(one, sound) for one in tones]).reshape(-1, 4)
    both = np.hstack([plain, near])
    return np.hstack([both, both**2])


def _nearness(one: Tone, sound: WhistleSound) -> list[float]:
    bent = one.course - one.course.mean()
    theirs = sound.course - sound.course.mean(axis=1, keepdims=True)
    return [
        min(float(np.abs(sound.figures[:, 1] - one.figures[1]).min()), 1.0),
        min(float(np.abs(theirs - bent).mean(axis=1).min()), 0.5),
        min(float(np.abs(sound.figures[:, 0] - one.figures[0]).min()), 2.0),
        float(np.abs(sound.figures[:, 2].mean() - one.figures[2])),
    ]


class WhistleDetector:
    """Takes a recording block by block (mono, −1..1) and gives its whistles, each with a confidence.

    sounds: the learned whistles (the best one names the event), or none for any whistle.
    """

    def __init__(self, rate_hz: int, sounds: Sequence[WhistleSound] = (), *, weights: Logistic | None = None) -> None:
        self.rate_hz, self.sounds = rate_hz, tuple(sounds)
        self._weights = weights or shipped("whistle_learned" if sounds else "whistle")
        context = int(CONTEXT_S * rate_hz)
        self._stretches = Stretches(int(_OWN_S * rate_hz), context, context)

    def feed(self, block: Samples) -> list[Event]:
        """Return the whistles that this block completes."""
        return [event for stretch in self._stretches.feed(block) for event in self._take(stretch)]

    def finish(self) -> list[Event]:
        """Return the remaining whistles; the detector is then done."""
        return [event for stretch in self._stretches.finish() for event in self._take(stretch)]

    def _take(self, stretch: Stretch) -> Iterator[Event]:
        found = [one for one in find_tones(stretch.samples, self.rate_hz) if stretch.holds(one.place)]
        if not found:
            return
        scored = np.column_stack(
            [self._weights.chances(whistle_features(found, s))[:, 0] for s in self.sounds or (None,)]
        )
        for one, chances in zip(found, scored, strict=True):
            best = int(chances.argmax())
            if chances[best] >= LEAST_CONFIDENCE:
                start_s = stretch.place(one.place) / self.rate_hz
                label = self.sounds[best].label if self.sounds else "whistle"
                yield Event(
                    start_s, start_s + one.n / self.rate_hz, EventKind.WHISTLE, label, confidence=float(chances[best])
                )
