"""What is learned from: one sample teaches by itself and is kept as numbers, so that the sound may be thrown away."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.stored_arrays import Arrays, from_bytes, to_bytes
from pupilage.core.recordings.words.frames import N_NUMBERS, RATE_HZ, STEP_SAMPLES, Embed
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.surroundings import Surroundings
from pupilage.core.recordings.words.tape import pieces_of, wordless

LEAD_S = 0.2
"""A word is learned where it starts this long after the embedding in the middle of its stack does."""
ON_S = 0.045
OFF_S = 0.13
"""Embeddings within ON_S of that place teach the word; beyond OFF_S they teach that there is none; between, nothing."""
NONE = 0
UNUSED = -1
_KIND = "word sample"

Array = NDArray[np.float32]


@dataclass(frozen=True)
class SampleLesson:
    """What one sample of a word, or a stretch without words, teaches; no sound can be played from it.

    embeddings (n, 96), every 80 ms; teaches (n,): 1 the word, 0 none, -1 nothing. duration_s: of the sample as it was
    said; 0 for a stretch without words.
    """

    embeddings: NDArray[np.float16]
    teaches: NDArray[np.int8]
    duration_s: float = 0.0

    def to_bytes(self, made_by: str) -> bytes:
        """Return it as bytes to be kept. made_by: the hash of the embedding's file."""
        arrays: Arrays = {
            "embeddings": self.embeddings,
            "teaches": self.teaches,
            "duration_s": np.array(self.duration_s),
        }
        return to_bytes(_KIND, arrays, made_by=made_by)

    @classmethod
    def from_bytes(cls, kept: bytes, made_by: str) -> "SampleLesson":
        """Return what `to_bytes` gave. Raises InvalidInput for damaged bytes and those of another embedding."""
        arrays, _ = from_bytes(_KIND, kept, made_by=made_by)
        return cls(
            arrays["embeddings"].astype(np.float16), arrays["teaches"].astype(np.int8), float(arrays["duration_s"])
        )


@dataclass(frozen=True)
class Lesson:
    """Embeddings every 80 ms (n, 96), each with what it teaches: 0 none, 1… the word's number, -1 nothing.

    `sample` is the number of the sample that a word's embedding comes from, -1 elsewhere. durations_s: each word's
    usual length, in the order of the words.
    """

    words: tuple[Word, ...]
    embeddings: NDArray[np.float16]
    teaches: NDArray[np.int16]
    sample: NDArray[np.int16]
    durations_s: tuple[float, ...] = ()


def sample_lesson(sound: Array, around: Surroundings, *, embed: Embed, seed: int) -> SampleLesson:
    """Return what one sample teaches: it is said again 24 times among what is around it, and heard by `embed`.

    sound: from the word's start to its end, 16 kHz, as `samples.sample_at` cuts it. around: the more of it there is,
    the surer is what is learned. Raises InvalidInput for silence.
    """
    if not len(sound) or not float(np.abs(sound).max()) > 1e-5:
        raise InvalidInput.of("sound", "There is nothing to hear in this sample; record the word again.")
    rng = np.random.default_rng(seed)
    heard, teaches = [], []
    for tape, piece in pieces_of(np.asarray(sound, np.float32), around, rng):
        embeddings = embed(tape)
        heard.append(embeddings.astype(np.float16))
        teaches.append(_taught(len(embeddings), piece.starts_s, piece.others_s))
    return SampleLesson(np.concatenate(heard), np.concatenate(teaches), len(sound) / RATE_HZ)


def talk_lesson(around: Surroundings, *, embed: Embed, seed: int) -> SampleLesson:
    """Return what a stretch of plain talk and the usual background teach: what is none of the words."""
    heard = [embed(tape).astype(np.float16) for tape in wordless(around, np.random.default_rng(seed))]
    embeddings = np.concatenate([np.zeros((0, N_NUMBERS), np.float16), *heard])
    return SampleLesson(embeddings, np.zeros(len(embeddings), np.int8))


def lesson_of(taught: Sequence[tuple[Word, Sequence[SampleLesson]]], talks: Sequence[SampleLesson] = ()) -> Lesson:
    """Return one lesson of words, each with its samples, and of stretches without words.

    Words and samples may come and go between two lessons; none of it needs sound. A word may be given more than once
    (samples of two people). Raises InvalidInput where a word has no sample.
    """
    words = tuple(dict.fromkeys(word for word, _ in taught))
    own = [(word, one) for word, samples in taught for one in samples]
    for word in words:
        if not any(word == other for other, _ in own):
            raise InvalidInput.of("words", "“{word}” has no sample yet; give three.", word=word.label)
    embeddings = [np.zeros((0, N_NUMBERS), np.float16)]
    teaches, source = [np.zeros(0, np.int16)], [np.zeros(0, np.int16)]
    for number, (word, one) in enumerate(own):
        embeddings.append(one.embeddings)
        teaches.append(np.where(one.teaches == 1, 1 + words.index(word), one.teaches).astype(np.int16))
        source.append(np.where(one.teaches == 1, number, -1).astype(np.int16))
    for one in talks:
        embeddings.append(one.embeddings)
        teaches.append(one.teaches.astype(np.int16))
        source.append(np.full(len(one.teaches), -1, np.int16))
    lengths = tuple(float(np.median([one.duration_s for other, one in own if other == word])) for word in words)
    return Lesson(words, np.concatenate(embeddings), np.concatenate(teaches), np.concatenate(source), lengths)


def _taught(n: int, starts_s: Sequence[float], others_s: Sequence[float]) -> NDArray[np.int8]:
    """Return what each embedding of a piece teaches; the starts of other words teach nothing."""
    teaches = np.full(n, NONE, np.int8)
    begins_s = np.arange(n) * STEP_SAMPLES / RATE_HZ + LEAD_S
    for start_s in (*starts_s, *others_s):
        teaches[np.abs(begins_s - start_s) <= OFF_S] = UNUSED
    for start_s in starts_s:
        teaches[np.abs(begins_s - start_s) <= ON_S] = 1
    return teaches
