"""A real person's words in a second language: three examples each, found again in sentences that were not learned from.

Source of the truth: the transcripts of Debian's asterisk-core-sounds-fr, telephone prompts by one French-Canadian
speaker. They say which words a prompt holds, not when, so whole prompts are counted. The speech is dense: harder than
words said to a dog.
"""

import gzip
import os
import re
from pathlib import Path

import numpy as np
import pytest

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
TRANSCRIPTS = Path("/usr/share/doc/asterisk-core-sounds-fr/core-sounds-fr.txt.gz")
PRESS, PLEASE = "appuyez", "veuillez"
SAME_SOUND = {"appuyer": PRESS}
"""The infinitive is said as the imperative is."""
WORD_S = 0.45
N_TESTED = 120


@pytest.fixture(scope="module")
def prompts() -> dict[str, list[str]]:
    """Return the words of each prompt whose sound is installed."""
    if not (PROMPTS.is_dir() and TRANSCRIPTS.is_file()):
        why = "asterisk-core-sounds-fr-wav is not installed: scripts/install_sounds"
        assert os.environ.get("PUPILAGE_CHECKS") != "required", why
        pytest.skip(why)
    told = gzip.decompress(TRANSCRIPTS.read_bytes()).decode(errors="replace")
    lines = [line.split(":", 1) for line in told.splitlines() if ":" in line and not line.startswith(";")]
    words = {name.strip(): re.findall(r"[^\W\d_]+", text.lower()) for name, text in lines}
    heard = {name: [SAME_SOUND.get(one, one) for one in spoken] for name, spoken in words.items()}
    return {name: spoken for name, spoken in heard.items() if spoken and (PROMPTS / f"{name}.wav").is_file()}


def sound_of(name: str) -> np.ndarray:
    return to_16k(read_wave(PROMPTS / f"{name}.wav"))


def first_word(name: str) -> np.ndarray:
    sound = sound_of(name)
    loud = levels(sound)
    at = int(np.argmax(loud > loud.max() - 30.0)) * 160
    return sound[at : at + round(WORD_S * 16_000)]


def beginning_with(prompts: dict[str, list[str]], word: str) -> list[str]:
    return [name for name, spoken in prompts.items() if spoken[0] == word][:3]


def plain_talk(prompts: dict[str, list[str]]) -> list[str]:
    return [name for name, spoken in prompts.items() if not {PRESS, PLEASE} & {*spoken} and len(spoken) > 3][:12]


@pytest.fixture(scope="module")
def model(prompts: dict[str, list[str]]) -> WordModel:
    talk = np.concatenate([sound_of(name) for name in plain_talk(prompts)])[: 25 * 16_000]
    embed, taught = speech_embedding().one_phase, []
    for word, other in ((PRESS, PLEASE), (PLEASE, PRESS)):
        around = Surroundings(talk, others=tuple(map(first_word, beginning_with(prompts, other))))
        samples = [
            sample_lesson(first_word(name), around, embed=embed, seed=seed)
            for seed, name in enumerate(beginning_with(prompts, word))
        ]
        taught.append((Word(word, EventKind.CUE), samples))
    return learn(lesson_of(taught, [talk_lesson(Surroundings(talk), embed=embed, seed=1)]), word_pool())


def test_words_of_a_real_french_voice_are_found_in_prompts_that_hold_them(
    prompts: dict[str, list[str]], model: WordModel
) -> None:
    known = {*beginning_with(prompts, PRESS), *beginning_with(prompts, PLEASE), *plain_talk(prompts)}
    tested = [name for name, spoken in prompts.items() if name not in known and len(spoken) > 2][:N_TESTED]
    right, found, true = dict.fromkeys((PRESS, PLEASE), 0), dict.fromkeys((PRESS, PLEASE), 0), {PRESS: 0, PLEASE: 0}
    for name in tested:
        sound = np.pad(sound_of(name), 8_000)
        scores = score(model, [speech_embedding().all_phases(sound)])
        events = [one.event for one in find_words(model, scores, loudness_of([sound]))]
        heard = {event.label for event in events if (event.confidence or 0.0) >= 0.5}
        for word in (PRESS, PLEASE):
            right[word] += word in heard and word in prompts[name]
            found[word] += word in heard
            true[word] += word in prompts[name]
    f1 = {word: 2 * right[word] / (found[word] + true[word]) for word in right}
    assert min(true.values()) >= 15
    assert f1[PRESS] >= 0.85, (right, found, true)
    assert f1[PLEASE] >= 0.65, (right, found, true)
