"""A real person's words in a second language: three examples each, found again in sentences that were not learned from.

Source of the truth: the transcripts of Debian's asterisk-core-sounds-fr 1.6.1, telephone prompts by one French-Canadian
speaker. They say which words a prompt holds, not when, so whole prompts are counted; an infinitive that sounds the
same counts as the word. The speech is dense: harder than
words said to a dog.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from french_prompts import BEGIN_WITH_PLEASE, BEGIN_WITH_PRESS, BOTH, NEITHER, ONLY_PLEASE, ONLY_PRESS, PLAIN_TALK
from pupilage.cli.made_sessions.enrolments import to_16k
from pupilage.cli.made_sessions.voices import read_wave
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.lessons import lesson_of, sample_lesson, talk_lesson
from pupilage.core.recordings.words.loudness import levels, loudness_of
from pupilage.core.recordings.words.model import WordModel, learn, score
from pupilage.core.recordings.words.peaks import find_words
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.surroundings import Surroundings
from pupilage.storage.sound.embedding import speech_embedding
from pupilage.storage.sound.word_pool import word_pool

PROMPTS = Path("/usr/share/asterisk/sounds/fr_CA_f_June")
PRESS, PLEASE = "appuyez", "veuillez"
WORD_S = 0.45


@pytest.fixture(scope="module")
def prompts() -> None:
    if not PROMPTS.is_dir():
        why = "asterisk-core-sounds-fr-wav is not installed: scripts/install_sounds"
        assert os.environ.get("PUPILAGE_CHECKS") != "required", why
        pytest.skip(why)


def sound_of(name: str) -> np.ndarray:
    return to_16k(read_wave(PROMPTS / f"{name}.wav"))


def first_word(name: str) -> np.ndarray:
    sound = sound_of(name)
    loud = levels(sound)
    at = int(np.argmax(loud > loud.max() - 30.0)) * 160
    return sound[at : at + round(WORD_S * 16_000)]


@pytest.fixture(scope="module")
def model(prompts: None) -> WordModel:
    talk = np.concatenate([sound_of(name) for name in PLAIN_TALK])[: 25 * 16_000]
    press, please = [[first_word(name) for name in names] for names in (BEGIN_WITH_PRESS, BEGIN_WITH_PLEASE)]
    embed, taught = speech_embedding().one_phase, []
    for word, samples, others in ((PRESS, press, please), (PLEASE, please, press)):
        around = Surroundings(talk, others=tuple(others))
        lessons = [sample_lesson(one, around, embed=embed, seed=seed) for seed, one in enumerate(samples)]
        taught.append((Word(word, EventKind.CUE), lessons))
    return learn(lesson_of(taught, [talk_lesson(Surroundings(talk), embed=embed, seed=1)]), word_pool())


def heard_in(name: str, model: WordModel) -> set[str]:
    sound = np.pad(sound_of(name), 8_000)
    scores = score(model, [speech_embedding().all_phases(sound)])
    events = [one.event for one in find_words(model, scores, loudness_of([sound]))]
    return {event.label for event in events if (event.confidence or 0.0) >= 0.5}


def test_words_of_a_real_french_voice_are_found_in_prompts_that_hold_them(model: WordModel) -> None:
    heard = {name: heard_in(name, model) for name in (*BOTH, *ONLY_PRESS, *ONLY_PLEASE, *NEITHER)}
    true = {PRESS: {*BOTH, *ONLY_PRESS}, PLEASE: {*BOTH, *ONLY_PLEASE}}
    found = {word: {name for name, words in heard.items() if word in words} for word in true}
    right = {word: len(true[word] & found[word]) for word in true}
    f1 = {word: 2 * right[word] / (len(found[word]) + len(true[word])) for word in true}
    assert f1[PRESS] >= 0.85, (right[PRESS], found[PRESS], true[PRESS])
    assert f1[PLEASE] >= 0.65, (right[PLEASE], found[PLEASE], true[PLEASE])
