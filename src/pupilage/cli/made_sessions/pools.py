"""The counter-examples that are shipped: speech programs saying sentences and short words of ours, in some noise."""

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
N_SENTENCES, N_WORDS, GAP_S = 7, 12, 0.35
Array = NDArray[np.float32]


def make_pool(*, seed: int) -> list[tuple[str, Array]]:
    """Return (voice, embeddings every 80 ms) of one stretch of each voice."""
    rng, embed = np.random.default_rng(seed), speech_embedding().one_phase
    return [(str(voice), embed(to_16k(_stretch(voice, rng)))) for voice in VOICES]


def _stretch(voice: Voice, rng: Generator) -> Array:
    """Return sentences and short words of one voice, each in a room of its own, in pink noise at 15 to 35 dB."""
    texts = [*rng.permutation(POOL_TALK)[:N_SENTENCES], *rng.permutation(POOL_WORDS)[:N_WORDS]]
    laid = [np.zeros(round(GAP_S * RATE_HZ), np.float32)]
    for text in texts:
        spoken = heard_in_room(speak(voice, str(text), rng), rng, echo_s=rng.uniform(0.12, 0.35))
        laid += [spoken, np.zeros(round(GAP_S * RATE_HZ), np.float32)]
    sound = np.concatenate(laid)
    return sound + background(Background.PINK, len(sound), rng.uniform(15.0, 35.0), rng)
