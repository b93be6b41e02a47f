"""The shipped counter-examples: speech programs saying sentences and short words of ours, one by one and at once."""

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.cli.made_sessions.backgrounds import Background, background
from pupilage.cli.made_sessions.enrolments import to_16k
from pupilage.cli.made_sessions.rooms import heard_in_room
from pupilage.cli.made_sessions.texts import POOL_TALK, POOL_WORDS
from pupilage.cli.made_sessions.voices import RATE_HZ, Voice, speak
from pupilage.storage.sound.embedding import speech_embedding

VOICES = (
    Voice("flite", "slt"),
    Voice("flite", "rms"),
    Voice("flite", "awb"),
    Voice("flite", "kal16"),
    Voice("espeak-ng", "en-us+f4"),
    Voice("espeak-ng", "en-gb+m7"),
)
BABBLERS = (
    Voice("flite", "kal16"),
    *(Voice("espeak-ng", name) for name in ("en-us+f4", "en-gb+m7", "de+m3", "fr+f2", "it+m4", "es+f1")),
    *(Voice("espeak-ng", name) for name in ("pt+f5", "nl+m5", "pl+m1", "sv+f3")),
)
"""Voices of the babble, none that the benchmark tests with; other languages' read our English in their own way."""
BABBLE = "babble"
N_SENTENCES, N_WORDS, GAP_S = 7, 13, 0.35
N_BABBLES, N_AT_ONCE, BABBLE_S = 12, 5, 20.0
Array = NDArray[np.float32]


def make_pool(*, seed: int) -> list[tuple[str, Array]]:
    """Return (voice, embeddings every 80 ms): a stretch of each voice, and stretches of five at once."""
    rng, embed = np.random.default_rng(seed), speech_embedding().one_phase
    alone = [(str(voice), embed(to_16k(_stretch(voice, rng)))) for voice in VOICES]
    talks = [_talk(voice, rng) for voice in BABBLERS]
    together = [(BABBLE, embed(to_16k(_at_once(talks, rng)))) for _ in range(N_BABBLES)]
    return alone + together


def _talk(voice: Voice, rng: Generator) -> Array:
    """Return twenty seconds of one voice in a room."""
    n = round(BABBLE_S * RATE_HZ)
    said = [heard_in_room(speak(voice, str(text), rng), rng, echo_s=0.25) for text in rng.permutation(POOL_TALK)]
    return np.resize(np.concatenate(said), n)


def _at_once(talks: list[Array], rng: Generator) -> Array:
    """Return five of the voices over each other, from places of their own."""
    chosen = rng.permutation(len(talks))[:N_AT_ONCE]
    laid = [np.roll(talks[i], int(rng.integers(len(talks[i])))) * rng.uniform(0.5, 1.0) for i in chosen]
    return np.asarray(0.5 * np.sum(laid, axis=0), np.float32)


def _stretch(voice: Voice, rng: Generator) -> Array:
    """Return sentences and short words of one voice, each in a room of its own, in pink noise at 15 to 35 dB."""
    texts = [*rng.permutation(POOL_TALK)[:N_SENTENCES], *rng.permutation(POOL_WORDS)[:N_WORDS]]
    laid = [np.zeros(round(GAP_S * RATE_HZ), np.float32)]
    for text in texts:
        spoken = heard_in_room(speak(voice, str(text), rng), rng, echo_s=rng.uniform(0.12, 0.35))
        laid += [spoken, np.zeros(round(GAP_S * RATE_HZ), np.float32)]
    sound = np.concatenate(laid)
    return sound + background(Background.PINK, len(sound), rng.uniform(15.0, 35.0), rng)
