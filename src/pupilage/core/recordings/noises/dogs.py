"""Barks and whines: bursts judged by their own figures or also by a speech embedding, and drawn to one dog by marks."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.bursts import RATE_HZ, Burst, find_bursts
from pupilage.core.recordings.noises.logistic import Logistic, drawn_towards
from pupilage.core.recordings.noises.stretches import Samples, Stretch, Stretches
from pupilage.core.recordings.noises.weights import shipped

Array = NDArray[np.float64]
Embed = Callable[[Samples], NDArray[np.float32]]
"""Sound at 16 kHz in, 96 numbers for each window of 0.775 s that begins every 80 ms out, shape (n, 96)."""

OTHER, BARK, WHINE = 0, 1, 2
KINDS = {BARK: EventKind.BARK, WHINE: EventKind.WHINE}
LEAST_CONFIDENCE = 0.1
WHINE_GAP_S = 0.15
N_BARKS, MOST_WHINES, MOST_FREE_S = 3, 2, 60.0
ADAPTING_PULL = 0.02
BIAS_PULL = 0.5
"""The same for the bias: a quiet home has no dog-free bursts, and three barks must not make all of it a dog."""
"""How strongly a dog's own weights are held to the generic ones; chosen on made dogs."""
_STEP, _WINDOW, _N_NUMBERS = 1280, 12_400, 96
_PART = 150
_AROUND = (-2, 0, 2)
_BEFORE, _OWN, _AFTER = 44 * _STEP, 750 * _STEP, 44 * _STEP


def describe(samples: Samples, embed: Embed | None = None) -> tuple[list[Burst], Array]:
    """Return the bursts of a piece of sound at 16 kHz and what the weights look at, shape (n, 42) or (n, 330).

    Without an embedding: each figure of a burst and its square. With it, added: the three embeddings of the windows
    around the burst (in its middle, 160 ms before and after).
    """
    bursts = find_bursts(samples)
    if not bursts:
        return [], np.zeros((0, 0))
    return bursts, _features(bursts, None if embed is None else _embedded(embed, samples))


def _embedded(embed: Embed, samples: Samples) -> NDArray[np.float32]:
    """Return the embedding of a piece of sound, asked for in parts of 12 s: a minute at once takes 400 MB."""
    rows = (len(samples) - _WINDOW) // _STEP + 1
    parts = [
        embed(samples[at * _STEP : (min(at + _PART, rows) - 1) * _STEP + _WINDOW])
        for at in range(0, max(rows, 0), _PART)
    ]
    return np.concatenate(parts) if parts else np.zeros((0, _N_NUMBERS), np.float32)


def _features(bursts: Sequence[Burst], embedded: NDArray[np.float32] | None) -> Array:
    plain = np.array([one.figures for one in bursts])
    figures = np.hstack([plain, plain**2])
    if embedded is None:
        return figures
    middles_s = np.array([one.place + min(one.n / 2, 0.15 * RATE_HZ) for one in bursts]) / RATE_HZ
    nearest = np.rint((middles_s * RATE_HZ - _WINDOW / 2) / _STEP).astype(int)
    near = [embedded[np.clip(nearest + k, 0, len(embedded) - 1)] for k in _AROUND] if len(embedded) else []
    heard = np.hstack(near) if near else np.zeros((len(bursts), _N_NUMBERS * len(_AROUND)))
    return np.hstack([figures, heard])


def generic_dog(embed: Embed | None) -> Logistic:
    """Return the shipped weights, learned from made dogs: for bursts alone, or for bursts with the embedding."""
    return shipped("burst" if embed is None else "voice")


@dataclass(frozen=True)
class Mark:
    """A piece of sound at 16 kHz in which a person marked one instant; 3 s before and 2 s after it are best."""

    samples: Samples
    at_s: float


def learn_dog(
    barks: Sequence[Mark], *, whines: Sequence[Mark] = (), dog_free: Samples | None = None, embed: Embed | None = None
) -> Logistic:
    """Return weights drawn from the generic ones towards one dog in its home.

    barks: 3 or more; whines: the first two are used; dog_free: sound without the dog, the first 60 s are used.
    **Model** see `drawn_towards`; barks, whines and the dog-free bursts count the same as groups.
    Raises: InvalidInput with fewer than 3 barks, or naming each mark at which nothing stands out.
    """
    problems: list[Problem] = []
    if len(barks) < N_BARKS:
        problems.append(Problem("barks", "{n} barks are too few to learn from; mark 3.", n=len(barks)))
    rows: list[Array] = []
    classes: list[int] = []
    for field, kind, marks in (("barks", BARK, barks), ("whines", WHINE, whines[:MOST_WHINES])):
        for number, mark in enumerate(marks, start=1):
            found = _marked(mark, embed)
            if found is None:
                problems.append(Problem(field, "Nothing stands out at mark {n}; mark another.", n=number))
            else:
                rows.append(found)
                classes.append(kind)
    if problems:
        raise InvalidInput(problems)
    if dog_free is not None:
        free = describe(dog_free[: int(MOST_FREE_S * RATE_HZ)], embed)[1]
        rows += list(free)
        classes += [OTHER] * len(free)
    which = np.array(classes, np.int64)
    each = 1.0 / np.bincount(which, minlength=3)[which]
    return drawn_towards(generic_dog(embed), np.array(rows), which, pull=ADAPTING_PULL, each=each, bias_pull=BIAS_PULL)


def _marked(mark: Mark, embed: Embed | None) -> Array | None:
    """Return the features of the burst at a mark: the one that it lies in, or the nearest within 0.4 s."""
    bursts, features = describe(mark.samples, embed)
    away = [max(one.place / RATE_HZ - mark.at_s, mark.at_s - (one.place + one.n) / RATE_HZ, 0.0) for one in bursts]
    if not away or min(away) > 0.4:
        return None
    return np.asarray(features[int(np.argmin(away))])


class DogDetector:
    """Takes sound at 16 kHz block by block and gives barks and whines, each with a confidence.

    embed: the speech embedding, or None to judge by energy in bands alone. weights: those of `learn_dog`, or the
    generic ones. The embedding is computed only where something stands out, so a quiet home costs little.
    """

    def __init__(self, embed: Embed | None = None, *, weights: Logistic | None = None) -> None:
        self._embed = embed
        self._weights = weights or generic_dog(embed)
        self._stretches = Stretches(_OWN, _BEFORE, _AFTER)
        self._pending: Event | None = None

    def feed(self, block: Samples) -> list[Event]:
        """Return the barks and whines that this block completes."""
        return [event for stretch in self._stretches.feed(block) for event in self._take(stretch)]

    def finish(self) -> list[Event]:
        """Return the remaining ones; the detector is then done."""
        rest = [event for stretch in self._stretches.finish() for event in self._take(stretch)]
        return rest + ([self._pending] if self._pending else [])

    def _take(self, stretch: Stretch) -> Iterator[Event]:
        own = [one for one in find_bursts(stretch.samples) if stretch.holds(one.place)]
        if not own:
            return
        features = _features(own, None if self._embed is None else _embedded(self._embed, stretch.samples))
        for one, chances in zip(own, self._weights.chances(features), strict=True):
            best = BARK if chances[BARK] >= chances[WHINE] else WHINE
            if chances[best] >= LEAST_CONFIDENCE:
                start_s = stretch.place(one.place) / RATE_HZ
                kind = KINDS[best]
                yield from self._join(
                    Event(start_s, start_s + one.n / RATE_HZ, kind, kind.value, confidence=float(chances[best]))
                )

    def _join(self, event: Event) -> Iterator[Event]:
        """Hold each event until the next: a whine that swells and sinks is cut into bursts, and is one whine."""
        held = self._pending
        both_whines = held is not None and held.kind is event.kind is EventKind.WHINE
        if held is not None and both_whines and event.start_s - held.end_s <= WHINE_GAP_S:
            confidence = max(held.confidence or 0.0, event.confidence or 0.0)
            self._pending = replace(held, end_s=max(held.end_s, event.end_s), confidence=confidence)
            return
        if held is not None:
            yield held
        self._pending = event
