"""The tape that is learned from: each sample said again and again, among other words, talk and noise."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.recordings.words.frames import RATE_HZ, STEP_SAMPLES, Embed
from pupilage.core.recordings.words.samples import Sample, Word
from pupilage.core.recordings.words.voicing import pink, said_again, stretched, tilted

N_VOICINGS = 24
PIECE_S = 12.0
LEAD_S = 0.2
"""A word is learned where it starts this long after the embedding in the middle of its stack does."""
ON_S = 0.045
OFF_S = 0.13
"""Embeddings within ON_S of that place teach the word; beyond OFF_S they teach that there is none; between, nothing."""
NONE = 0
UNUSED = -1

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Enrolment:
    """What one person gave: samples of their words, plain talk, and the usual background (either may be empty)."""

    samples: tuple[Sample, ...]
    talk: Array
    background: Array

    @property
    def words(self) -> tuple[Word, ...]:
        """The words in the order in which they were given."""
        return tuple(dict.fromkeys(sample.word for sample in self.samples))


@dataclass(frozen=True)
class Lesson:
    """Embeddings every 80 ms (n, 96), each with what it teaches: 0 none, 1… the word's number, -1 nothing.

    `sample` is the number of the sample that a word's embedding comes from, -1 elsewhere. The audio is not in it.
    """

    words: tuple[Word, ...]
    embeddings: NDArray[np.float16]
    teaches: NDArray[np.int16]
    sample: NDArray[np.int16]


def make_lesson(enrolment: Enrolment, embed: Embed, *, seed: int, n_voicings: int = N_VOICINGS) -> Lesson:
    """Return what is learned from: the tape of `enrolment`, heard by `embed`."""
    rng = np.random.default_rng(seed)
    heard, teaches, source = [], [], []
    for sound, starts in _pieces(enrolment, rng, n_voicings):
        embeddings = embed(sound)
        target, number = _truth(len(embeddings), starts, enrolment)
        heard.append(embeddings.astype(np.float16))
        teaches.append(target)
        source.append(number)
    return Lesson(enrolment.words, np.concatenate(heard), np.concatenate(teaches), np.concatenate(source))


def _truth(
    n: int, starts: list[tuple[float, int]], enrolment: Enrolment
) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Return what each embedding of a piece teaches, and the sample that it comes from."""
    words = enrolment.words
    teaches, source = np.full(n, NONE, np.int16), np.full(n, -1, np.int16)
    begins = np.arange(n) * STEP_SAMPLES / RATE_HZ
    for start_s, _number in starts:
        teaches[np.abs(begins - (start_s - LEAD_S)) <= OFF_S] = UNUSED
    for start_s, number in starts:
        on = np.abs(begins - (start_s - LEAD_S)) <= ON_S
        teaches[on] = 1 + words.index(enrolment.samples[number].word)
        source[on] = number
    return teaches, source


def _pieces(enrolment: Enrolment, rng: Generator, n_voicings: int) -> Iterator[tuple[Array, list[tuple[float, int]]]]:
    """Yield pieces of tape of about 12 s, each in one noise, with the starts of its words and their sample numbers."""
    order = rng.permuted(np.tile(np.arange(len(enrolment.samples)), n_voicings))
    level = float(np.sqrt(np.mean(np.concatenate([one.sound for one in enrolment.samples]) ** 2)))
    talk = _levelled(enrolment.talk, level)
    laid: list[Array] = [np.zeros(round(0.5 * RATE_HZ), np.float32)]
    starts: list[tuple[float, int]] = []
    at = len(laid[0])
    for number in map(int, order):
        said = said_again(_levelled(enrolment.samples[number].sound, level), rng) * _gain(rng)
        starts.append((at / RATE_HZ, number))
        pause = np.zeros(round(rng.choice([rng.uniform(0.04, 0.25), rng.uniform(0.25, 1.0)]) * RATE_HZ), np.float32)
        more = [said, pause]
        if len(talk) and rng.random() < 0.25:
            more += [_some(talk, rng.uniform(0.3, 2.5), rng) * _gain(rng), pause]
        laid += more
        at += sum(map(len, more))
        if at > PIECE_S * RATE_HZ:
            yield _in_noise(np.concatenate(laid), level, enrolment, rng), starts
            laid, starts, at = [np.zeros(round(0.5 * RATE_HZ), np.float32)], [], round(0.5 * RATE_HZ)
    if starts:
        laid.append(np.zeros(RATE_HZ, np.float32))
        yield _in_noise(np.concatenate(laid), level, enrolment, rng), starts
    if len(talk):
        for _ in range(max(n_voicings // 4, 1)):
            again = stretched(talk, float(np.exp(rng.normal(0, 0.1))))
            yield _in_noise(tilted(again, rng.uniform(-0.5, 0.5)) * _gain(rng), level, enrolment, rng), []
    for snr_db in (0.0, 20.0, 20.0):
        yield _in_noise(np.zeros(RATE_HZ * 12, np.float32), level * 10 ** (-snr_db / 20), enrolment, rng), []


def _gain(rng: Generator) -> float:
    """Return how much nearer or further it is said: -9 to +4 dB."""
    return float(10.0 ** (rng.uniform(-9.0, 4.0) / 20.0))


def _levelled(sound: Array, level: float) -> Array:
    """Return the sound at an effective level; silence stays silence."""
    if not len(sound):
        return sound
    loud = float(np.sqrt(np.mean(sound**2)))
    return np.asarray(sound * (level / loud), np.float32) if loud > 1e-6 else sound


def _some(sound: Array, duration_s: float, rng: Generator) -> Array:
    n = min(round(duration_s * RATE_HZ), len(sound))
    at = int(rng.integers(len(sound) - n + 1))
    return sound[at : at + n]


def _in_noise(sound: Array, level: float, enrolment: Enrolment, rng: Generator) -> Array:
    """Return a piece of tape in one of four backgrounds: nearly none, pink, the usual one, or many voices."""
    n, kind = len(sound), int(rng.choice(4, p=(0.25, 0.3, 0.15, 0.3)))
    if kind == 2 and len(enrolment.background) > RATE_HZ:
        noise = np.resize(enrolment.background, n)
    elif kind == 3 and len(enrolment.talk) > RATE_HZ:
        noise = _babble(enrolment.talk, n, rng)
    else:
        noise = pink(n, rng)
    snr_db = 40.0 if kind == 0 else rng.uniform(6.0, 30.0)
    return np.asarray(sound + _levelled(noise, level * 10.0 ** (-snr_db / 20.0)), np.float32)


def _babble(talk: Array, n: int, rng: Generator) -> Array:
    """Return many voices made of one: its talk at other pitches and speeds, from other places, laid over itself."""
    laid = np.zeros(n, np.float32)
    for _ in range(5):
        factor = rng.uniform(0.75, 1.35)
        voice = np.interp(np.arange(int(len(talk) / factor)) * factor, np.arange(len(talk)), talk)
        laid += np.roll(np.resize(voice, n), int(rng.integers(n))).astype(np.float32)
    return laid
