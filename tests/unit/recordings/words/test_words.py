"""Words are found, cut and placed in time; an embedding of plain arithmetic stands in for the model."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Band, Event, EventKind
from pupilage.core.recordings.words.frames import N_NUMBERS, N_PHASES, RATE_HZ, stack
from pupilage.core.recordings.words.lessons import LEAD_S
from pupilage.core.recordings.words.loudness import loudness_of, talk_runs
from pupilage.core.recordings.words.model import WordModel, score
from pupilage.core.recordings.words.peaks import find_words, mark_talk
from pupilage.core.recordings.words.samples import Sample, Word, cut_word, remarks_on
from pupilage.core.recordings.words.softmax import Softmax, fit_softmax
from pupilage.core.recordings.words.voicing import resampled, stretched

SIT, DOWN = Word("sit", EventKind.CUE), Word("down", EventKind.CUE)


def tone(duration_s: float, level: float = 0.3) -> np.ndarray:
    t = np.arange(round(duration_s * RATE_HZ)) / RATE_HZ
    return (level * np.sin(2 * np.pi * 300 * t)).astype(np.float32)


def in_silence(sound: np.ndarray, *, at_s: float, duration_s: float) -> np.ndarray:
    laid = (1e-4 * np.random.default_rng(1).standard_normal(round(duration_s * RATE_HZ))).astype(np.float32)
    first = round(at_s * RATE_HZ)
    laid[first : first + len(sound)] += sound
    return laid


def test_a_tap_after_a_word_cuts_that_word():
    start_s, end_s = cut_word(in_silence(tone(0.4), at_s=1.0, duration_s=3.0), 1.3)
    assert start_s == pytest.approx(1.0, abs=0.03)
    assert end_s == pytest.approx(1.4, abs=0.03)


def test_a_tap_in_silence_is_told_so():
    with pytest.raises(InvalidInput, match="No word stands out"):
        cut_word(in_silence(tone(0.4), at_s=0.2, duration_s=4.0), 3.0)


def test_a_word_under_a_quarter_of_a_second_and_a_word_said_once_are_remarked_on():
    told = [str(one) for one in remarks_on([Sample(SIT, tone(0.15))] * 3 + [Sample(DOWN, tone(0.5))])]
    assert len(told) == 2
    assert "“sit” lasts 0.15 s" in told[0]
    assert "“down” has 1 of 3" in told[1]


def test_scores_in_pieces_are_those_of_the_whole():
    rng = np.random.default_rng(2)
    embeddings = rng.standard_normal((203, N_NUMBERS)).astype(np.float32)
    softmax = Softmax(rng.standard_normal((5 * N_NUMBERS, 3)).astype(np.float32) / 10, np.zeros(3, np.float32))
    model = WordModel((SIT, DOWN), softmax)
    whole = score(model, [embeddings]).p
    assert len(whole) == 203
    for n in (1, 7, 50):
        pieces = [embeddings[first : first + n] for first in range(0, 203, n)]
        np.testing.assert_allclose(score(model, pieces).p, whole, atol=1e-5)


def test_a_stack_holds_its_neighbours_in_order():
    rows = np.repeat(np.arange(40, dtype=np.float32)[:, None], N_NUMBERS, axis=1)
    assert stack(rows, step=N_PHASES)[20, ::N_NUMBERS].tolist() == [12, 16, 20, 24, 28]
    assert stack(rows)[0, ::N_NUMBERS].tolist() == [0, 0, 0, 1, 2]


def test_of_two_peaks_at_the_same_time_the_likelier_word_is_heard_with_its_start():
    p = np.full((200, 3), 0.01, np.float32)
    p[98:103, 1], p[100:105, 2] = 0.9, 0.6
    p[:, 0] = 1 - p[:, 1:].sum(axis=1)
    model = WordModel((SIT, DOWN), Softmax(np.zeros((480, 3), np.float32), np.zeros(3, np.float32)), (0.3, 0.5))
    loudness = loudness_of([np.zeros(4 * RATE_HZ, np.float32)])
    heard = find_words(model, type(score(model, []))(p, {}), loudness)
    assert [one.event.label for one in heard] == ["sit"]
    assert heard[0].event.start_s == pytest.approx(100 * 0.02 + LEAD_S, abs=0.02)
    assert heard[0].event.end_s - heard[0].event.start_s == pytest.approx(0.3)


def test_nothing_is_heard_in_nothing():
    model = WordModel((SIT,), Softmax(np.zeros((480, 2), np.float32), np.zeros(2, np.float32)))
    assert find_words(model, score(model, []), loudness_of([])) == []


def test_a_word_in_a_run_of_talk_is_one_band_lower_unless_everything_is_talk():
    event = Event(5.0, 5.3, EventKind.CUE, "sit", 0.9)
    assert mark_talk([event], [(4.0, 8.0)], 60.0)[0].band is Band.CHECK
    assert mark_talk([event], [(0.0, 50.0)], 60.0)[0].band is Band.SURE


def test_three_seconds_of_sound_are_talk_and_a_short_word_is_not():
    sound = in_silence(tone(3.0), at_s=4.0, duration_s=12.0) + in_silence(tone(0.4), at_s=9.0, duration_s=12.0)
    ((start_s, end_s),) = talk_runs(loudness_of([sound]))
    assert start_s == pytest.approx(4.0, abs=0.05)
    assert end_s == pytest.approx(7.0, abs=0.05)


def test_the_fitted_softmax_is_at_the_bottom_of_its_loss():
    """At the minimum the weighted truth and the weighted chances agree per class, since biases are free."""
    rng = np.random.default_rng(3)
    rows, classes = rng.standard_normal((300, 6)).astype(np.float32), rng.integers(0, 3, 300)
    rows[:, 0] += classes
    weights = rng.uniform(0.5, 2.0, 300).astype(np.float32)
    fitted = fit_softmax(rows, classes, weights, n_classes=3, penalty=1e-3)
    shares = weights @ np.exp(fitted.log_p(rows)) / weights.sum()
    truth = [weights[classes == one].sum() / weights.sum() for one in range(3)]
    np.testing.assert_allclose(shares, truth, atol=2e-3)


def test_stretching_keeps_the_pitch_and_resampling_moves_it():
    def pitch_hz(sound: np.ndarray) -> float:
        return float(np.argmax(np.abs(np.fft.rfft(sound, RATE_HZ * 4))) / 4)

    sound = tone(1.0)
    longer = stretched(sound, 1.25)
    assert len(longer) == pytest.approx(1.25 * RATE_HZ, rel=0.01)
    assert pitch_hz(longer) == pytest.approx(300, abs=6)
    assert pitch_hz(resampled(sound, 1.25)) == pytest.approx(375, abs=3)
