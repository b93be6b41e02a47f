"""Clicks of a box clicker, learned from three of them or not learned at all. Press and release are one event."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.logistic import Logistic
from pupilage.core.recordings.noises.stretches import Samples, Stretch, Stretches
from pupilage.core.recordings.noises.transients import CONTEXT_S, Transient, find_transients
from pupilage.core.recordings.noises.weights import shipped
from pupilage.core.recordings.stored_arrays import from_bytes, to_bytes

N_SAMPLES = 3
RELEASE_WITHIN_S = 0.35
"""A second click this soon is the box let go (common practice, no source)."""
LEAST_CONFIDENCE = 0.1
CLICK_S = 0.01
_OWN_S = 10.0
_KIND, _PARTS = "clicker", ("shape", "early", "late")

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ClickSound:
    """What one clicker sounds like: the transients of the samples it was learned from."""

    shape: Array
    early: Array
    late: Array

    @property
    def n_samples(self) -> int:
        """How many clicks it was learned from."""
        return len(self.shape)

    @classmethod
    def joined(cls, sounds: Sequence["ClickSound"]) -> "ClickSound":
        """Return one clicker of samples that were kept each by itself. Raises InvalidInput with fewer than three."""
        n = sum(one.n_samples for one in sounds)
        if n < N_SAMPLES:
            raise InvalidInput([_too_few(n)])
        return cls(*(np.concatenate([getattr(one, name) for one in sounds]) for name in _PARTS))

    def to_bytes(self) -> bytes:
        """Return it as bytes to be kept; it holds no sound that could be played."""
        return to_bytes(_KIND, {name: getattr(self, name) for name in _PARTS})

    @classmethod
    def from_bytes(cls, kept: bytes) -> "ClickSound":
        """Return what `to_bytes` gave. Raises InvalidInput for damaged bytes."""
        arrays, _ = from_bytes(_KIND, kept)
        return cls(*(arrays[name].astype(float) for name in _PARTS))


def hear_click(cut: Samples, rate_hz: int) -> ClickSound | None:
    """Return what one use of the box sounds like in a cut sample (0.3 s to 3 s); None where nothing sudden is heard."""
    found = find_transients(_with_silence(cut, rate_hz), rate_hz)
    if not found:
        return None
    press = _press(found)
    return ClickSound(*(np.array([getattr(press, name)]) for name in _PARTS))


def learn_click(samples: Sequence[Samples], rate_hz: int) -> ClickSound:
    """Return the sound of a clicker from cut samples (0.3 s to 3 s each, one use of the box in each).

    Raises: InvalidInput with fewer than three samples, or naming each sample in which nothing sudden is heard.
    """
    heard = [hear_click(cut, rate_hz) for cut in samples]
    problems = [_too_few(len(samples))] if len(samples) < N_SAMPLES else []
    problems += [
        Problem("clicks", "Nothing sudden is heard in click {n}; mark another.", n=number)
        for number, one in enumerate(heard, start=1)
        if one is None
    ]
    if problems:
        raise InvalidInput(problems)
    return ClickSound.joined([one for one in heard if one is not None])


def _too_few(n: int) -> Problem:
    return Problem("clicks", "{n} clicks are too few to learn from; mark 3 or more.", n=n)


def _with_silence(cut: Samples, rate_hz: int) -> Samples:
    """A sample cut close to its click gets its own first and last 20 ms, mirrored, on either side."""
    n = min(int(0.02 * rate_hz), max(len(cut) - 1, 1))
    head, tail = np.resize(cut[:n][::-1], int(0.1 * rate_hz)), np.resize(cut[-n:][::-1], int(0.1 * rate_hz))
    return np.concatenate([head, cut, tail]).astype(np.float32)


def _press(found: Sequence[Transient]) -> Transient:
    """Return the first of the transients that comes within 10 dB of the strongest."""
    loudest = max(one.rise_db for one in found)
    return next(one for one in found if one.rise_db >= loudest - 10.0)


def click_features(transients: Sequence[Transient], sound: ClickSound | None) -> Array:
    """Return what the click weights look at, shape (n, 22) unlearned or (n, 42) learned: each figure and its square.

    Unlearned: rise, the six of the shape, and the four falls as shares of the rise (in noise a sound cannot fall
    further than it rose). Learned adds the Bhattacharyya coefficient `Σ√(pq)` of early and late
    spectrum with the nearest and with the mean sample, the log-spectral distance of both, and distances of the shape.
    """
    plain = np.array([_figures(one) for one in transients]).reshape(-1, 11)
    if sound is None:
        return np.hstack([plain, plain**2])
    near = np.array([_nearness(one, sound) for one in transients]).reshape(-1, 10)
    both = np.hstack([plain, near])
    return np.hstack([both, both**2])


def _figures(one: Transient) -> list[float]:
    falls = np.clip(one.shape[1:5] / one.rise_db, -0.5, 1.5)
    return [min(one.rise_db, 40.0) / 10, *(np.clip(one.shape, -20, 40) / 10), *falls]


def _nearness(one: Transient, sound: ClickSound) -> list[float]:
    figures: list[float] = []
    for mine, theirs in ((one.early, sound.early), (one.late, sound.late)):
        mean = theirs.mean(axis=0)
        figures += [
            float(np.sqrt(theirs * mine).sum(axis=1).max()),
            float(np.sqrt(mean * mine).sum()),
            float(np.sqrt(np.mean((np.log10(mine) - np.log10(theirs).mean(axis=0)) ** 2))),
        ]
    away = np.abs(np.clip(one.shape, -20, 40) - np.clip(sound.shape, -20, 40).mean(axis=0)) / 10
    return [*figures, float(away[1]), float(away[2]), float(away[4]), float(away[5])]


class ClickDetector:
    """Takes a recording block by block (mono, −1..1) and gives its clicks, each as one event with a confidence.

    sound: the learned clicker, or None for any click. The events do not depend on how the sound is cut into blocks.
    """

    def __init__(self, rate_hz: int, sound: ClickSound | None = None, *, weights: Logistic | None = None) -> None:
        self.rate_hz, self.sound = rate_hz, sound
        self._weights = weights or shipped("click" if sound is None else "click_learned")
        context = int(CONTEXT_S * rate_hz)
        self._stretches = Stretches(int(_OWN_S * rate_hz), context, context)
        self._pending: Event | None = None

    def feed(self, block: Samples) -> list[Event]:
        """Return the clicks that are certain not to change with what comes."""
        return [event for stretch in self._stretches.feed(block) for event in self._take(stretch)]

    def finish(self) -> list[Event]:
        """Return the remaining clicks; the detector is then done."""
        rest = [event for stretch in self._stretches.finish() for event in self._take(stretch)]
        return rest + ([self._pending] if self._pending else [])

    def _take(self, stretch: Stretch) -> Iterator[Event]:
        found = [one for one in find_transients(stretch.samples, self.rate_hz) if stretch.holds(one.place)]
        if not found:
            return
        chances = self._weights.chances(click_features(found, self.sound))[:, 0]
        for one, p in zip(found, chances, strict=True):
            if p >= LEAST_CONFIDENCE:
                yield from self._join(stretch.place(one.place) / self.rate_hz, float(p))

    def _join(self, at_s: float, p: float) -> Iterator[Event]:
        """Hold each click until it is known whether the next one is its release."""
        held = self._pending
        if held is not None and at_s - held.start_s < RELEASE_WITHIN_S:
            if p > 0.5 > (held.confidence or 0.0):  # what came before was no press
                self._pending = _click(at_s, p)
            else:
                self._pending = replace(held, end_s=max(held.end_s, at_s), confidence=max(held.confidence or 0.0, p))
            return
        if held is not None:
            yield held
        self._pending = _click(at_s, p)


def _click(at_s: float, p: float) -> Event:
    return Event(at_s, at_s + CLICK_S, EventKind.CLICK, "click", confidence=p)
