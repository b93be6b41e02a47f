"""The slot for a sound-event model that the user supplies: what it answers, how its classes become a dog's sounds."""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.bursts import find_bursts
from pupilage.core.recordings.noises.stretches import Samples, Stretch, Stretches

RATE_HZ = 16_000
WINDOW = 15_360
"""0.96 s."""
HOP = 7_680
LEAST_CONFIDENCE = 0.1
BARK_WORDS = ("bark", "bow-wow", "woof", "yip", "growl", "dog", "howl")
WHINE_WORDS = ("whimper", "whine", "yelp")
_OWN, _CONTEXT = 60 * HOP, 8 * HOP


class EventModel(Protocol):
    """Answers for a window of 0.96 s at 16 kHz with a score of 0 to 1 for each class, in the order of `classes`."""

    @property
    def classes(self) -> Sequence[str]:
        """The display names of the classes."""

    def scores(self, window: Samples) -> NDArray[np.float32]:
        """Return one score a class for 15,360 samples in −1..1."""


@dataclass(frozen=True)
class DogClasses:
    """Which classes of a model mean a bark and which a whine, as columns of its scores."""

    barks: tuple[int, ...]
    whines: tuple[int, ...]


def read_class_names(text: str) -> tuple[str, ...]:
    """Return the class names of a CSV: the column `display_name` or `name`, else the last column; one row a class.

    Raises: InvalidInput for a text without rows.
    """
    rows = [row for row in csv.reader(StringIO(text)) if any(cell.strip() for cell in row)]
    if rows:
        head = [cell.strip().lower() for cell in rows[0]]
        named = next((head.index(word) for word in ("display_name", "name") if word in head), None)
        body, column = (rows, -1) if named is None else (rows[1:], named)
        if body and all(len(row) > column for row in body):
            return tuple(row[column].strip() for row in body)
    raise InvalidInput.of(
        "classes", "The list of classes is empty or has rows that are too short; give one class a row."
    )


def dog_classes(classes: Sequence[str]) -> DogClasses:
    """Return the columns of barks and whines by their English names.

    Raises: InvalidInput when no class sounds like a dog's.
    """
    lowered = [name.lower() for name in classes]
    whines = tuple(k for k, name in enumerate(lowered) if any(word in name for word in WHINE_WORDS))
    barks = tuple(k for k, name in enumerate(lowered) if any(word in name for word in BARK_WORDS) and k not in whines)
    if not barks and not whines:
        raise InvalidInput.of(
            "classes",
            "None of the {n} classes is a dog's sound; the list must name at least one such as “Bark” or “Whimper”.",
            n=len(classes),
        )
    return DogClasses(barks, whines)


class ModelDetector:
    """Takes sound at 16 kHz block by block and gives barks and whines as a user's model scores them.

    The model hears windows of 0.96 s every 0.48 s; what it scores is laid on the bursts of sound inside the window, so
    that starts are right to some 10 ms, not to half a second. A window without a burst gives nothing.
    """

    def __init__(self, model: EventModel) -> None:
        self._model = model
        self._dog = dog_classes(model.classes)
        self._stretches = Stretches(_OWN, _CONTEXT, _CONTEXT)

    def feed(self, block: Samples) -> list[Event]:
        """Return the sounds that this block completes."""
        return [event for stretch in self._stretches.feed(block) for event in self._take(stretch)]

    def finish(self) -> list[Event]:
        """Return the remaining ones; the detector is then done."""
        return [event for stretch in self._stretches.finish() for event in self._take(stretch)]

    def _take(self, stretch: Stretch) -> Iterator[Event]:
        scored: dict[int, tuple[float, float]] = {}
        for one in find_bursts(stretch.samples):
            if not stretch.holds(one.place):
                continue
            bark, whine = self._scored(stretch, one.place + min(one.n, WINDOW) // 2, scored)
            kind, p = (EventKind.BARK, bark) if bark >= whine else (EventKind.WHINE, whine)
            if p >= LEAST_CONFIDENCE:
                start_s = stretch.place(one.place) / RATE_HZ
                yield Event(start_s, start_s + one.n / RATE_HZ, kind, kind.value, confidence=min(p, 1.0))

    def _scored(self, stretch: Stretch, middle: int, scored: dict[int, tuple[float, float]]) -> tuple[float, float]:
        """Return the scores of the window on the grid whose middle is nearest; each window is scored once."""
        at = max(round((middle - WINDOW / 2) / HOP), 0) * HOP
        if at not in scored:
            window = np.zeros(WINDOW, np.float32)
            piece = stretch.samples[at : at + WINDOW]
            window[: len(piece)] = piece
            scores = self._model.scores(window)
            bark, whine = (
                max((float(scores[k]) for k in ks), default=0.0) for ks in (self._dog.barks, self._dog.whines)
            )
            scored[at] = (max(bark, 0.0), max(whine, 0.0))
        return scored[at]
