"""Words said by a speech program of the distribution are learned from three samples each and found again.

Source of the truth: the times at which the session was put together. The voice is not one that anything was tuned on.
How well it does with more voices and in noise is measured by `pupilage bench recordings`.
"""

import os
import shutil
from pathlib import Path

import numpy as np
import pytest

from pupilage.cli.made_sessions.backgrounds import Background, background
from pupilage.cli.made_sessions.enrolments import Enrolment, to_16k
from pupilage.cli.made_sessions.files import write_aac
from pupilage.cli.made_sessions.rooms import heard_in_room
from pupilage.cli.made_sessions.texts import ENROLMENT_TALK, POOL_TALK
from pupilage.cli.made_sessions.voices import RATE_HZ, TUNING_VOICES, Voice, speak
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.loudness import loudness_of
from pupilage.core.recordings.words.model import WordModel, learn, score
from pupilage.core.recordings.words.peaks import find_words
from pupilage.core.recordings.words.samples import Word, sample_at
from pupilage.storage.sound.decoding import Block
from pupilage.storage.sound.embedding import speech_embedding
from pupilage.storage.sound.session import Ears, listen_to_session

VOICE = Voice("flite", "slt")
WORDS = (Word("sit", EventKind.CUE), Word("down", EventKind.CUE), Word("touch", EventKind.CUE))
MARKER = Word("yes", EventKind.MARKER)
WITHIN_S = 0.15


@pytest.fixture(scope="module")
def flite() -> None:
    if shutil.which("flite") is None:
        assert os.environ.get("PUPILAGE_CHECKS") != "required", "flite is not installed: scripts/install_sounds"
        pytest.skip("flite is not installed: scripts/install_sounds")


def recorded(sounds: list[np.ndarray], rng: np.random.Generator) -> tuple[np.ndarray, list[float]]:
    """Return the sounds a second apart in a quiet room, at 16 kHz, and when each starts."""
    laid, starts, at = [np.zeros(RATE_HZ, np.float32)], [], RATE_HZ
    for sound in sounds:
        starts.append(at / RATE_HZ)
        in_room = heard_in_room(sound, rng, echo_s=0.2)
        laid += [in_room, np.zeros(RATE_HZ, np.float32)]
        at += len(in_room) + RATE_HZ
    whole = np.concatenate(laid)
    return to_16k(whole + background(Background.PINK, len(whole), 35.0, rng)), starts


@pytest.fixture(scope="module")
def enrolment(flite: None) -> Enrolment:
    rng = np.random.default_rng(1)
    samples = []
    for word in (*WORDS, MARKER):
        sound, starts = recorded([speak(VOICE, word.label, rng) for _ in range(3)], rng)
        samples += [sample_at(sound, word, start_s + 0.25) for start_s in starts]
    talk, _ = recorded([speak(VOICE, text, rng) for text in ENROLMENT_TALK[:5]], rng)
    return Enrolment(tuple(samples), talk, np.zeros(0, np.float32))


@pytest.fixture(scope="module")
def model(enrolment: Enrolment) -> WordModel:
    embed, rng = speech_embedding().one_phase, np.random.default_rng(2)
    other = TUNING_VOICES[0]
    pool = [embed(to_16k(speak(other, text, rng))) for text in POOL_TALK[:5]]
    return learn(enrolment.lesson(embed, seed=1), pool)


def test_four_words_are_found_where_they_were_said(model: WordModel) -> None:
    rng = np.random.default_rng(3)
    said = [str(one) for one in rng.permutation([word.label for word in (*WORDS, MARKER)] * 4)]
    sound, starts = recorded([speak(VOICE, text, rng) for text in said], rng)
    scores = score(model, speech_embedding().stream([Block(0.0, sound)]))
    heard = [one.event for one in find_words(model, scores, loudness_of([sound]))]
    sure = [event for event in heard if (event.confidence or 0.0) >= 0.5]
    right = sum(
        any(event.label == text and abs(event.start_s - start_s) <= WITHIN_S for event in sure)
        for text, start_s in zip(said, starts, strict=True)
    )
    assert right >= 15  # of 16
    assert len(sure) <= 17


def test_sentences_of_the_same_voice_without_the_words_hold_none(model: WordModel) -> None:
    rng = np.random.default_rng(4)
    sound, _ = recorded([speak(VOICE, text, rng) for text in POOL_TALK[5:]], rng)
    scores = score(model, speech_embedding().stream([Block(0.0, sound)]))
    heard = [one.event for one in find_words(model, scores, loudness_of([sound]))]
    assert sum((event.confidence or 0.0) >= 0.7 for event in heard) <= 1


def test_words_of_a_file_in_aac_are_those_of_its_sound(model: WordModel, tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    said = [word.label for word in (*WORDS, MARKER)]
    sound, starts = recorded([speak(VOICE, text, rng) for text in said], rng)
    file = tmp_path / "said.m4a"
    write_aac(file, np.repeat(sound, 2))  # at 32 kHz, each sample twice: what that adds lies above 8 kHz
    done: list[float] = []
    heard = listen_to_session(file, [Ears(model)], done.append)
    sure = [one for one in heard.heard[0] if (one.event.confidence or 0.0) >= 0.5]
    assert [one.event.label for one in sure] == said
    assert [one.event.start_s for one in sure] == pytest.approx(starts, abs=WITHIN_S)
    assert heard.quality.duration_s == pytest.approx(len(sound) / 16_000, abs=0.1)
    assert all(one.stack is not None and one.stack.shape == (3, 480) for one in sure)
    assert done == sorted(done)
    assert done
