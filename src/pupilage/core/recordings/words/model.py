"""One person's words: learned from a lesson, other people's speech and corrections; the model scores embeddings."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.stored_arrays import Arrays, from_bytes, to_bytes
from pupilage.core.recordings.words.frames import N_NUMBERS, N_PHASES, N_STACKED, REACH, stack
from pupilage.core.recordings.words.lessons import NONE, Lesson
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.softmax import Softmax, fit_softmax

PENALTY = 1e-3
N_STEPS = 60
WORD_WEIGHT = 8.0
"""An embedding of a word weighs this much against one without, since they are few."""
POOL_WEIGHT = 2.0
EVERY_NONE = 2
"""Of the embeddings without a word every second is learned from, for both: neighbours are nearly alike."""
CORRECTION_WEIGHT = 15.0
"""An event that a person confirmed or rejected weighs as much as this many embeddings of the tape."""
EDGE = REACH * N_PHASES
_KIND = "word model"

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Corrections:
    """Stacks of events that a person looked at (n, 480), with the words that they were: 0 for none, 1… by number.

    A cue word inside talk that was rejected is learned as none too: its stack holds the talk around it, and that is
    what it is told by (measured: `pupilage bench recordings`).
    """

    stacks: Array
    teaches: NDArray[np.int64]

    @classmethod
    def of(cls, words: Sequence[Word], judged: Iterable[tuple[NDArray[np.float16], Word | None]]) -> "Corrections":
        """Return the corrections of looked-at events: (`Scores.near` its place, its word, or None for none of them).

        An event whose word is no longer among the words is left out: what it was is not known any more.
        """
        known = [
            (np.asarray(rows, np.float32).reshape(-1, N_STACKED * N_NUMBERS), word)
            for rows, word in judged
            if word is None or word in words
        ]
        numbers = [NONE if word is None else 1 + list(words).index(word) for _, word in known]
        empty = np.zeros((0, N_STACKED * N_NUMBERS), np.float32)
        return cls(
            np.concatenate([empty, *(rows for rows, _ in known)]),
            np.repeat(np.array(numbers, np.int64), [len(rows) for rows, _ in known]),
        )


@dataclass(frozen=True)
class WordModel:
    """The words and the weights that tell them apart; class 0 is none of them.

    durations_s: each word's usual length, in their order; where it is left out, 0.4 s is taken.
    """

    words: tuple[Word, ...]
    softmax: Softmax
    durations_s: tuple[float, ...] = ()

    def duration_s(self, number: int) -> float:
        """Return the usual length of word 1, 2, ..."""
        return self.durations_s[number - 1] if self.durations_s else 0.4

    def to_bytes(self, made_by: str) -> bytes:
        """Return it as bytes to be kept. made_by: the hash of the embedding's file."""
        words = [[word.label, word.kind.value, word.behaviour] for word in self.words]
        arrays: Arrays = {
            "weights": self.softmax.weights,
            "biases": self.softmax.biases,
            "durations_s": np.array(self.durations_s, np.float32),
        }
        return to_bytes(_KIND, arrays, made_by=made_by, texts={"words": words})

    @classmethod
    def from_bytes(cls, kept: bytes, made_by: str) -> "WordModel":
        """Return what `to_bytes` gave. Raises InvalidInput for damaged bytes and those of another embedding."""
        arrays, texts = from_bytes(_KIND, kept, made_by=made_by)
        rows = cast("list[list[str]]", texts["words"])
        words = tuple(Word(label, EventKind(kind), behaviour) for label, kind, behaviour in rows)
        softmax = Softmax(arrays["weights"].astype(np.float32), arrays["biases"].astype(np.float32))
        return cls(words, softmax, tuple(float(one) for one in arrays["durations_s"].astype(float)))


def learn(
    lesson: Lesson,
    pool: Iterable[Array],
    corrections: Corrections | None = None,
    *,
    told: Callable[[float], None] | None = None,
) -> WordModel:
    """Return the model of a lesson. pool: embeddings of other people's speech, every 80 ms, as runs (n, 96).

    told: takes the share that is done, and may raise to end it.
    """
    if len(lesson.words) < 1:
        raise InvalidInput.of("words", "There is no word to learn; give at least one, with three samples.")
    used = _learned_from(lesson.teaches)
    rows = [stack(lesson.embeddings.astype(np.float32))[used]]
    classes = [lesson.teaches[used].astype(np.int64)]
    weights = [np.where(classes[0] == NONE, EVERY_NONE, WORD_WEIGHT).astype(np.float32)]
    for run in pool:
        rows.append(stack(run))
        classes.append(np.full(len(run), NONE, np.int64))
        weights.append(np.full(len(run), POOL_WEIGHT, np.float32))
    if corrections is not None and len(corrections.teaches):
        rows.append(corrections.stacks)
        classes.append(corrections.teaches)
        weights.append(np.full(len(corrections.teaches), CORRECTION_WEIGHT, np.float32))
    fitted = fit_softmax(
        np.concatenate(rows), np.concatenate(classes), np.concatenate(weights),
        n_classes=1 + len(lesson.words), penalty=PENALTY, n_steps=N_STEPS, told=told,
    )  # fmt: skip
    return WordModel(lesson.words, fitted, lesson.durations_s)


def _learned_from(teaches: NDArray[np.int16]) -> NDArray[np.bool_]:
    nones = np.flatnonzero(teaches == NONE)
    used = teaches > NONE
    used[nones[::EVERY_NONE]] = True
    return np.asarray(used)


@dataclass(frozen=True)
class Scores:
    """Chances of each class every 20 ms (n, 1 + n_words), and the stacks where a word is not unlikely, by place."""

    p: Array
    stacks: dict[int, NDArray[np.float16]]

    def near(self, place: int) -> NDArray[np.float16]:
        """Return the stacks at a place and right beside it (1 to 3, 480), to be kept for a correction; 0 for none."""
        kept = [self.stacks[at] for at in (place - 1, place, place + 1) if at in self.stacks]
        return np.stack(kept) if kept else np.zeros((0, N_STACKED * N_NUMBERS), np.float16)


KEPT_FROM = 0.2


def score(model: WordModel, pieces: Iterable[Array]) -> Scores:
    """Return the chances of a whole recording, its embeddings given piece by piece, every 20 ms."""
    found: list[Array] = []
    stacks: dict[int, NDArray[np.float16]] = {}
    n_done = 0
    for rows in _stacked(pieces):
        p = np.exp(model.softmax.log_p(rows))
        for place in np.flatnonzero(1.0 - p[:, NONE] > KEPT_FROM):
            stacks[n_done + int(place)] = rows[place].astype(np.float16)
        found.append(p)
        n_done += len(p)
    empty = np.zeros((0, 1 + len(model.words)), np.float32)
    return Scores(np.concatenate([empty, *found]), stacks)


def _stacked(pieces: Iterable[Array]) -> Iterator[Array]:
    """Yield stacks of embeddings that come in pieces, as if they were one: a piece waits for its right neighbours."""
    before = np.zeros((0, N_NUMBERS), np.float32)
    n_before = 0
    for piece in pieces:
        known = np.concatenate([before, piece])
        n_ready = len(known) - EDGE
        if n_ready > n_before:
            yield stack(known, step=N_PHASES)[n_before:n_ready]
            keep = max(n_ready - EDGE, 0)
            before, n_before = known[keep:], n_ready - keep
        else:
            before = known
    if len(before) > n_before:
        yield stack(before, step=N_PHASES)[n_before:]
