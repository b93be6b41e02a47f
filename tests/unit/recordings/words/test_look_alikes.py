"""Words that sound alike are told of before anything is heard; a correction is learned. Plain numbers stand in."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.frames import N_NUMBERS, stack
from pupilage.core.recordings.words.lessons import NONE, UNUSED, Lesson
from pupilage.core.recordings.words.look_alikes import find_look_alikes
from pupilage.core.recordings.words.model import Corrections, learn
from pupilage.core.recordings.words.samples import Word

SIT, FREE, THREE = (Word(label, EventKind.CUE) for label in ("sit", "free", "three"))
WORDS = (SIT, FREE, THREE)
N_VOICINGS, N_SAMPLES = 8, 3


def made_lesson(centres: np.ndarray, *, n_samples: int = N_SAMPLES, seed: int = 1) -> Lesson:
    """Return a lesson in which each word is a place among the embeddings, in every voicing a little elsewhere."""
    rng = np.random.default_rng(seed)
    rows, teaches, source = [], [], []
    for voicing in range(N_VOICINGS * n_samples):
        for number, centre in enumerate(centres):
            rows += [rng.standard_normal((6, N_NUMBERS)), centre + rng.standard_normal((1, N_NUMBERS))]
            teaches += [NONE] * 5 + [UNUSED, 1 + number]
            source += [-1] * 6 + [number * n_samples + voicing % n_samples]
    embeddings = np.concatenate(rows).astype(np.float16)
    return Lesson(WORDS, embeddings, np.array(teaches, np.int16), np.array(source, np.int16))


def far_apart() -> np.ndarray:
    return 3.0 * np.random.default_rng(2).standard_normal((3, N_NUMBERS))


def test_words_that_differ_are_each_found_by_samples_left_out():
    found = find_look_alikes(made_lesson(far_apart()), [])
    np.testing.assert_allclose(np.diag(found.shares[:, 1:]), 1.0)
    assert found.pairs() == found.remarks() == []


def test_words_that_are_the_same_are_told_as_a_pair():
    centres = far_apart()
    centres[2] = centres[1]
    found = find_look_alikes(made_lesson(centres), [])
    assert {(word.label, other.label) for word, other, _ in found.pairs()} <= {("free", "three"), ("three", "free")}
    assert found.pairs()
    assert "was taken for" in str(found.remarks()[0])
    assert found.shares[0, 1] == pytest.approx(1.0)


def test_a_word_that_sounds_like_nothing_said_is_told_as_missed():
    centres = far_apart()
    centres[0] = 0.0
    told = [str(one) for one in find_look_alikes(made_lesson(centres), []).remarks()]
    assert any("“sit” was not found in" in one for one in told)


def test_one_sample_a_word_cannot_be_compared():
    with pytest.raises(InvalidInput, match="two samples"):
        find_look_alikes(made_lesson(far_apart(), n_samples=1), [])


def test_a_correction_is_learned():
    """What the model took for “sit” and a person rejected is no longer heard as it; “free” is heard as before."""
    lesson = made_lesson(far_apart())
    rng = np.random.default_rng(5)
    mistaken = (0.8 * far_apart()[0] + rng.standard_normal((12, 5, N_NUMBERS))).astype(np.float32).reshape(12, -1)
    before = np.exp(learn(lesson, []).softmax.log_p(mistaken))
    assert before[:, 1].mean() > 0.5
    corrected = learn(lesson, [], Corrections(mistaken[:6], np.zeros(6, np.int64)))
    assert np.exp(corrected.softmax.log_p(mistaken[6:]))[:, 1].mean() < 0.2
    rows = stack(lesson.embeddings.astype(np.float32))[lesson.teaches == 2]
    assert (np.argmax(corrected.softmax.log_p(rows), axis=1) == 2).all()
