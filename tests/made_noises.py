"""Short made recordings for the tests of noises: a session with clicks, one with a whistle, a dog at home."""

from functools import cache

import numpy as np

from pupilage.core.recordings.noises.clicks import ClickSound, learn_click
from pupilage.core.recordings.noises.whistles import WhistleSound, learn_whistle
from pupilage.core.simulation.sounds.dogs import Dog
from pupilage.core.simulation.sounds.scenes import (
    SPEECH_DBFS,
    Background,
    Scene,
    background,
    click_session,
    home_alone,
    samples_of,
    whistle_session,
)
from pupilage.core.simulation.sounds.trainers import Clicker, Whistle

RATE_HZ = 32_000


@cache
def clicked(seed: int, kind: Background, under_db: float, *, session_s: float = 26.0) -> tuple[Scene, ClickSound]:
    """Return a session and the sound of its clicker, learned from three uses elsewhere."""
    rng = np.random.default_rng(seed)
    clicker = Clicker.drawn(rng)
    sound = learn_click(samples_of(lambda r: clicker.press(r, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ), RATE_HZ)
    behind = background(kind, session_s, SPEECH_DBFS - under_db, rng, rate_hz=RATE_HZ)
    return click_session(clicker, behind, rng, rate_hz=RATE_HZ), sound


@cache
def whistled(seed: int, kind: Background, under_db: float, *, session_s: float = 26.0) -> tuple[Scene, WhistleSound]:
    """Return a session and the sound of its whistle, learned from three blasts elsewhere."""
    rng = np.random.default_rng(seed)
    whistle = Whistle.drawn(rng)
    cuts = samples_of(lambda r: whistle.blow(r, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ)
    sound = learn_whistle("here", cuts, RATE_HZ)
    behind = background(kind, session_s, SPEECH_DBFS - under_db, rng, rate_hz=RATE_HZ)
    return whistle_session(whistle, behind, rng, rate_hz=RATE_HZ), sound


@cache
def alone(seed: int, kind: Background, level_dbfs: float, *, home_s: float = 60.0) -> tuple[Scene, Dog]:
    """Return a dog by itself, at 16 kHz."""
    rng = np.random.default_rng(seed)
    dog = Dog.drawn(rng)
    behind = background(kind, home_s, level_dbfs, rng, rate_hz=16_000)
    return home_alone(dog, behind, rng, rate_hz=16_000), dog


def in_one_piece(detector, samples):
    """Return all that a detector gives for a recording fed as one block."""
    return [*detector.feed(samples), *detector.finish()]


def starts(events, *, at_least: float = 0.5, kind: str | None = None) -> list[float]:
    """Return the starts of the events that are likely enough."""
    return [e.start_s for e in events if e.confidence >= at_least and (kind is None or e.kind == kind)]
