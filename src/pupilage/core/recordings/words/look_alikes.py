"""Which of a person's words are taken for each other: each sample is heard by a model that never learned from it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.words.frames import stack
from pupilage.core.recordings.words.lessons import NONE, UNUSED, Lesson
from pupilage.core.recordings.words.model import learn
from pupilage.core.recordings.words.samples import Word
from pupilage.core.words import Sentence, sentence

TOLD_FROM = 0.25
"""A pair, or a word that is missed, is told of from this share of its voicings on. Our choice, not tuned."""

Array = NDArray[np.float32]


@dataclass(frozen=True)
class LookAlikes:
    """How the words of a lesson are heard when left out of the learning.

    shares (n_words, 1 + n_words): of each word's voicings, the share heard as none (column 0) and as each word.
    A word with one sample cannot be left out; its row is all nan.
    """

    words: tuple[Word, ...]
    shares: NDArray[np.float64]

    def pairs(self) -> list[tuple[Word, Word, float]]:
        """Return (word, what it is heard as, share), the most frequent first, from `TOLD_FROM` on."""
        found = [
            (word, other, float(self.shares[i, 1 + j]))
            for i, word in enumerate(self.words)
            for j, other in enumerate(self.words)
            if i != j and self.shares[i, 1 + j] >= TOLD_FROM
        ]
        return sorted(found, key=lambda pair: -pair[2])

    def remarks(self) -> list[Sentence]:
        """Return what a person should know: pairs that sound alike, words that are missed, words said once."""
        told = [
            sentence(
                "“{word}” was taken for “{other}” in {share:.0%} of the tries with your own samples; play both, and "
                "say one of them differently if you can.",
                word=word.label,
                other=other.label,
                share=share,
            )
            for word, other, share in self.pairs()
        ]
        for word, row in zip(self.words, self.shares, strict=True):
            if np.isnan(row[NONE]):
                told.append(sentence("“{word}” has one sample, so it could not be tried.", word=word.label))
            elif row[NONE] >= TOLD_FROM:
                told.append(
                    sentence(
                        "“{word}” was not found in {share:.0%} of the tries with your own samples; its samples may "
                        "differ much from each other.",
                        word=word.label,
                        share=float(row[NONE]),
                    )
                )
        return told


def find_look_alikes(
    lesson: Lesson, pool: Sequence[Array], *, told: Callable[[float], None] | None = None
) -> LookAlikes:
    """Return how each word is heard by models that did not learn the sample that is heard.

    Model: leave-one-out over the samples of a word, the k-th samples of all words together, so that there are as many
    fits as the word with the most samples has. Each voicing of a sample left out counts once, as the likeliest class
    of the mean over its embeddings. The pauses around it stay in the lesson.
    Parameters: pool, told: see `learn`. Raises InvalidInput for a lesson without a word that has two samples.
    Source: Stone, 1974, J. R. Stat. Soc. B 36, from memory. Checked in tests/unit/recordings/words/test_look_alikes.py.
    """
    samples = [_samples_of(lesson, 1 + number) for number in range(len(lesson.words))]
    n_folds = max(map(len, samples), default=0)
    if n_folds < 2:
        raise InvalidInput.of("samples", "Words can be compared once one of them has two samples; give another.")
    stacked = stack(lesson.embeddings.astype(np.float32))
    counts = np.zeros((len(lesson.words), 1 + len(lesson.words)))
    for fold in range(n_folds):
        left_out = [numbers[fold] for numbers in samples if len(numbers) > max(fold, 1)]
        out = np.isin(lesson.sample, left_out)
        teaches = np.where(out, UNUSED, lesson.teaches).astype(lesson.teaches.dtype)
        part = None if told is None else partial(_told_of_fold, told, fold, n_folds)
        model = learn(replace(lesson, teaches=teaches), pool, told=part)
        p = np.exp(model.softmax.log_p(stacked))
        for first, last in _runs(out, lesson.sample):
            counts[lesson.teaches[first] - 1, int(np.argmax(p[first:last].mean(axis=0)))] += 1.0
    totals = counts.sum(axis=1, keepdims=True)
    return LookAlikes(lesson.words, np.where(totals > 0.0, counts / np.maximum(totals, 1.0), np.nan))


def _told_of_fold(told: Callable[[float], None], fold: int, n_folds: int, share: float) -> None:
    told((fold + share) / n_folds)


def _samples_of(lesson: Lesson, number: int) -> list[int]:
    return [int(one) for one in np.unique(lesson.sample[lesson.teaches == number])]


def _runs(out: NDArray[np.bool_], sample: NDArray[np.int16]) -> list[tuple[int, int]]:
    """Return (first, after the last) of the embeddings of each voicing left out."""
    numbers = np.where(out, sample, -1)
    edges = np.flatnonzero(np.diff(numbers, prepend=-1, append=-1))
    return [(int(a), int(b)) for a, b in pairwise(edges) if numbers[a] >= 0]
