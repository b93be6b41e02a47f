"""What a voice gives to be enrolled: three samples a word in another room, twenty seconds of talk, the background."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from pupilage.cli.made_sessions.backgrounds import Background, background
from pupilage.cli.made_sessions.rooms import heard_in_room
from pupilage.cli.made_sessions.texts import CUES, ENROLMENT_TALK, MARKER, NAME, PRAISE, RELEASE
from pupilage.cli.made_sessions.voices import RATE_HZ, Voice, speak
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.frames import Embed
from pupilage.core.recordings.words.lessons import Lesson, lesson_of, sample_lesson, talk_lesson
from pupilage.core.recordings.words.samples import N_SAMPLES, Sample, Word, sample_at
from pupilage.core.recordings.words.surroundings import Surroundings

WORDS = (
    *(Word(cue, EventKind.CUE) for cue in CUES),
    Word(MARKER, EventKind.MARKER),
    Word(PRAISE, EventKind.PRAISE),
    Word(RELEASE, EventKind.RELEASE),
    Word(NAME, EventKind.NAME),
)
Array = NDArray[np.float32]


@dataclass(frozen=True)
class Enrolment:
    """What one person gave: samples of their words, plain talk, and the usual background (either may be empty)."""

    samples: tuple[Sample, ...]
    talk: Array
    background: Array

    def lesson(self, embed: Embed, *, seed: int) -> Lesson:
        """Return what is learned from: each sample by itself, as the program keeps them."""
        taught = []
        for number, sample in enumerate(self.samples):
            others = tuple(one.sound for one in self.samples if one.word != sample.word)
            around = Surroundings(self.talk, self.background, others)
            taught.append((sample.word, [sample_lesson(sample.sound, around, embed=embed, seed=seed + number)]))
        around = Surroundings(self.talk, self.background)
        return lesson_of(taught, [talk_lesson(around, embed=embed, seed=seed)])


def make_enrolment(voice: Voice, *, seed: int) -> Enrolment:
    """Return the enrolment of a voice: its words cut by taps out of a recording at 30 dB, as a trainer would."""
    rng = np.random.default_rng(seed)
    echo_s = rng.uniform(0.12, 0.35)
    samples: list[Sample] = []
    for word in WORDS:
        for number in range(N_SAMPLES):
            spoken = heard_in_room(speak(voice, word.label, rng, excited=number == 1), rng, echo_s=echo_s)
            quiet = np.zeros(round(1.0 * RATE_HZ), np.float32)
            recorded = np.concatenate([quiet, spoken, quiet])
            recorded += background(Background.PINK, len(recorded), 30.0, rng)
            samples.append(sample_at(to_16k(recorded), word, 1.0 + rng.uniform(0.15, 0.4)))
    talk = np.concatenate([heard_in_room(speak(voice, text, rng), rng, echo_s=echo_s) for text in ENROLMENT_TALK])
    talk += background(Background.PINK, len(talk), 30.0, rng)
    usual = background(Background.PINK, 10 * RATE_HZ, 30.0, rng)
    return Enrolment(tuple(samples), to_16k(talk), to_16k(usual))


def to_16k(sound: Array) -> Array:
    """Return a sound of 32 kHz at 16 kHz."""
    return np.asarray(resample_poly(sound, 1, 2), np.float32)
