"""One sample teaches by itself; what is kept of it holds no sound and makes the same lesson later."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.frames import N_NUMBERS, RATE_HZ, STEP_SAMPLES, WINDOW_SAMPLES, stack
from pupilage.core.recordings.words.lessons import (
    NONE,
    SampleLesson,
    lesson_of,
    sample_lesson,
    talk_lesson,
)
from pupilage.core.recordings.words.model import Corrections, Scores, WordModel, learn
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.surroundings import Surroundings
from pupilage.core.recordings.words.tape import N_VOICINGS

SIT, DOWN, FREE = (Word(label, EventKind.CUE) for label in ("sit", "down", "free"))
MAKER = "0" * 64


def heard(sound: np.ndarray) -> np.ndarray:
    """An embedding of plain arithmetic: the spectrum of each window in 96 bands, in dB."""
    n = (len(sound) - WINDOW_SAMPLES) // STEP_SAMPLES + 1
    windows = np.stack([sound[at * STEP_SAMPLES : at * STEP_SAMPLES + WINDOW_SAMPLES] for at in range(max(n, 0))])
    early = np.abs(np.fft.rfft(windows[:, 3200:6400], 1024, axis=1)[:, : 5 * N_NUMBERS]) ** 2
    return np.log10(early.reshape(n, N_NUMBERS, 5).mean(axis=2) + 1e-6).astype(np.float32)


def tone(pitch_hz: float, duration_s: float = 0.3) -> np.ndarray:
    t = np.arange(round(duration_s * RATE_HZ)) / RATE_HZ
    return (0.2 * np.sin(2 * np.pi * pitch_hz * t)).astype(np.float32)


def hiss(duration_s: float) -> np.ndarray:
    return (0.05 * np.random.default_rng(5).standard_normal(round(duration_s * RATE_HZ))).astype(np.float32)


def taught(pitch_hz: float, seed: int = 1) -> SampleLesson:
    return sample_lesson(tone(pitch_hz), Surroundings(talk=hiss(4.0)), embed=heard, seed=seed)


def test_a_sample_teaches_its_word_once_or_twice_for_each_time_it_is_said_again():
    lesson = taught(700)
    assert N_VOICINGS <= (lesson.teaches == 1).sum() <= 2 * N_VOICINGS
    assert set(np.unique(lesson.teaches)) == {-1, 0, 1}
    assert len(lesson.teaches) == len(lesson.embeddings)
    assert lesson.duration_s == pytest.approx(0.3)


def test_the_same_seed_gives_the_same_lesson_and_another_one_another():
    np.testing.assert_array_equal(taught(700).embeddings, taught(700).embeddings)
    assert taught(700).embeddings.shape != taught(700, seed=2).embeddings.shape


def test_other_words_around_a_sample_do_not_teach_it():
    around = Surroundings(others=(tone(2000),) * 3)
    lesson = sample_lesson(tone(700), around, embed=heard, seed=1)
    assert N_VOICINGS <= (lesson.teaches == 1).sum() <= 2 * N_VOICINGS
    assert (lesson.teaches == -1).sum() > (taught(700).teaches == -1).sum()


def test_silence_is_no_sample():
    with pytest.raises(InvalidInput, match="nothing to hear"):
        sample_lesson(np.zeros(4000, np.float32), Surroundings(), embed=heard, seed=1)


def test_talk_and_noise_teach_only_that_there_is_no_word():
    lesson = talk_lesson(Surroundings(talk=hiss(4.0)), embed=heard, seed=1)
    assert set(lesson.teaches) == {NONE}
    assert len(lesson.teaches) > 6 * 30


def test_what_is_kept_of_a_sample_is_the_sample_again():
    lesson = taught(700)
    again = SampleLesson.from_bytes(lesson.to_bytes(MAKER), MAKER)
    np.testing.assert_array_equal(again.embeddings, lesson.embeddings)
    np.testing.assert_array_equal(again.teaches, lesson.teaches)
    assert again.duration_s == lesson.duration_s


@pytest.mark.parametrize("spoil", [lambda kept: b"", lambda kept: kept[:-200], lambda kept: b"\x80\x04" + kept])
def test_damaged_bytes_are_refused_in_words(spoil):
    with pytest.raises(InvalidInput, match="cannot be read"):
        SampleLesson.from_bytes(spoil(taught(700).to_bytes(MAKER)), MAKER)


def test_numbers_of_another_embedding_are_refused():
    with pytest.raises(InvalidInput, match="another model of sound"):
        SampleLesson.from_bytes(taught(700).to_bytes(MAKER), "1" * 64)


def test_a_pickle_inside_is_never_opened():
    import io

    kept = io.BytesIO()
    np.savez(kept, head=np.array([{"kind": "word sample"}], object))
    with pytest.raises(InvalidInput, match="cannot be read"):
        SampleLesson.from_bytes(kept.getvalue(), MAKER)


def test_words_can_be_added_renamed_and_deleted_with_the_sound_long_gone():
    sit, down, free = taught(400), taught(1100), taught(2300)
    both = lesson_of([(SIT, [sit, sit]), (DOWN, [down])])
    three = lesson_of([(SIT, [sit, sit]), (DOWN, [down]), (FREE, [free])])
    np.testing.assert_array_equal(three.embeddings[: len(both.embeddings)], both.embeddings)
    assert three.words == (SIT, DOWN, FREE)
    renamed = lesson_of([(Word("settle", EventKind.CUE), [sit, sit]), (FREE, [free])])
    assert [word.label for word in renamed.words] == ["settle", "free"]
    assert set(np.unique(renamed.teaches)) == {-1, 0, 1, 2}
    assert renamed.durations_s == pytest.approx((0.3, 0.3))


def test_samples_of_two_people_share_a_word():
    lesson = lesson_of([(SIT, [taught(400)]), (DOWN, [taught(1100)]), (SIT, [taught(500)])])
    assert lesson.words == (SIT, DOWN)
    assert len(np.unique(lesson.sample[lesson.teaches == 1])) == 2


def test_a_word_without_a_sample_is_told():
    with pytest.raises(InvalidInput, match="“down” has no sample"):
        lesson_of([(SIT, [taught(400)]), (DOWN, [])])


def test_a_learned_model_is_kept_and_read_back_with_its_words_and_lengths():
    model = learn(lesson_of([(SIT, [taught(400)]), (DOWN, [taught(1100)])]), [])
    kept = model.to_bytes(MAKER)
    again = WordModel.from_bytes(kept, MAKER)
    assert again.words == model.words
    assert again.durations_s == pytest.approx(model.durations_s)
    rows = stack(taught(400).embeddings.astype(np.float32))
    np.testing.assert_array_equal(again.softmax.log_p(rows), model.softmax.log_p(rows))
    with pytest.raises(InvalidInput, match="cannot be read"):
        SampleLesson.from_bytes(kept, MAKER)


def test_words_learned_from_what_is_kept_are_told_apart():
    samples = {word: [taught(pitch_hz, seed) for seed in (1, 2, 3)] for word, pitch_hz in ((SIT, 400), (DOWN, 1100))}
    model = learn(lesson_of(list(samples.items())), [])
    for number, pitch_hz in ((1, 400), (2, 1100)):
        fresh = taught(pitch_hz, seed=9)
        p = np.exp(model.softmax.log_p(stack(fresh.embeddings.astype(np.float32))))[fresh.teaches == 1]
        heard_as = p.argmax(axis=1)
        assert set(heard_as) <= {0, number}
        assert (heard_as == number).mean() > 0.8


def test_a_correction_whose_word_was_deleted_is_left_out():
    rows = np.zeros(480, np.float16)
    kept = Corrections.of([SIT, DOWN], [(rows, DOWN), (rows, None), (rows, FREE)])
    assert kept.teaches.tolist() == [2, 0]
    assert kept.stacks.shape == (2, 480)


def test_what_stands_beside_an_event_corrects_with_it():
    rows = {4: np.full(480, 4, np.float16), 5: np.full(480, 5, np.float16), 9: np.full(480, 9, np.float16)}
    scores = Scores(np.zeros((10, 3), np.float32), rows)
    kept = Corrections.of([SIT, DOWN], [(scores.near(5), DOWN), (scores.near(9), None), (scores.near(1), SIT)])
    assert kept.teaches.tolist() == [2, 2, 0]
    assert kept.stacks[:, 0].tolist() == [4, 5, 9]
