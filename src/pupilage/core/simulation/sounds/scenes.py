"""Whole recordings with their truth: sounds laid over a background at a stated level, each with its true times."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.simulation.sounds.dogs import Dog
from pupilage.core.simulation.sounds.households import bang, hum
from pupilage.core.simulation.sounds.tones import Wave, at_level, at_peak, in_room, pink
from pupilage.core.simulation.sounds.trainers import Clicker, Whistle
from pupilage.core.simulation.sounds.voices import Voice, babble, television

SPEECH_DBFS = -26.0
"""Nominal level of speech; noise of 10 dB means a background 10 dB under it."""
ONSET_SHARE = 0.1
"""A made sound starts, for its truth, where it first reaches this share of its peak."""

Truth = tuple[str, float, float]


class Background(StrEnum):
    """What sounds behind the session."""

    QUIET = "quiet"
    PINK = "pink"
    BABBLE = "babble"
    TELEVISION = "television"


@dataclass
class Scene:
    """A recording on its way: samples at one rate, and the true (kind, start_s, end_s) of what was laid in."""

    samples: Wave
    rate_hz: int
    truths: list[Truth] = field(default_factory=list)

    @property
    def duration_s(self) -> float:
        """The length in seconds."""
        return len(self.samples) / self.rate_hz

    def lay(self, wave: Wave, at_s: float, kind: str = "") -> None:
        """Add a sound at an instant; with a kind it is a truth from its onset to its last loud sample."""
        start = int(at_s * self.rate_hz)
        wave = wave[: len(self.samples) - start]
        self.samples[start : start + len(wave)] += wave
        if kind:
            loud = np.flatnonzero(np.abs(wave) >= ONSET_SHARE * np.abs(wave).max())
            self.truths.append((kind, (start + loud[0]) / self.rate_hz, (start + loud[-1]) / self.rate_hz))


def background(
    kind: Background, duration_s: float, level_dbfs: float, rng: Generator, *, rate_hz: int
) -> NDArray[np.float32]:
    """Return a background of one kind; the quiet one is a fridge and faint noise, whatever the level asked for."""
    n = int(duration_s * rate_hz)
    match kind:
        case Background.QUIET:
            return at_level(hum(duration_s, rng, rate_hz=rate_hz)[:n] + 0.7 * pink(n, rng), -62.0)
        case Background.PINK:
            return at_level(pink(n, rng), level_dbfs)
        case Background.BABBLE:
            return at_level(babble(duration_s, rng, rate_hz=rate_hz)[:n], level_dbfs)
        case Background.TELEVISION:
            return at_level(television(duration_s, rng, rate_hz=rate_hz)[:n], level_dbfs)


def _instants(rng: Generator, n: int, duration_s: float, *, margin_s: float) -> list[float]:
    """Return n instants at random, no two closer than the margin, all within the recording."""
    slack = duration_s - margin_s * (n + 1)
    return [float(x) for x in np.sort(rng.uniform(0, slack, n)) + margin_s * np.arange(1, n + 1)]


def session(
    sounder: Callable[[Generator], NDArray[np.float64]], kind: str, behind: Wave, rng: Generator, *, rate_hz: int
) -> Scene:
    """Return a training session of the background's length: the sounder's sounds between talk and household bangs."""
    scene = Scene(behind.copy(), rate_hz)
    n = int(scene.duration_s / 2.6)
    trainer = Voice.drawn(rng)
    for number, at_s in enumerate(_instants(rng, n, scene.duration_s, margin_s=1.6)):
        if number % 5 < 2:
            scene.lay(at_peak(in_room(sounder(rng), rng, rate_hz=rate_hz), rng.uniform(0.12, 0.5)), at_s, kind)
        elif number % 5 == 2:
            scene.lay(at_peak(in_room(bang(rng, rate_hz=rate_hz), rng, rate_hz=rate_hz), rng.uniform(0.05, 0.5)), at_s)
        else:
            talk = trainer.talk(rng.uniform(0.4, 1.5), rng, rate_hz=rate_hz)
            scene.lay(at_level(in_room(talk, rng, rate_hz=rate_hz), SPEECH_DBFS + rng.uniform(-5, 3)), at_s)
    return scene


def click_session(clicker: Clicker, behind: Wave, rng: Generator, *, rate_hz: int) -> Scene:
    """Return a session with a clicker; three of four uses let press and release be heard."""
    return session(
        lambda rng: clicker.press(rng, rate_hz=rate_hz, double=rng.random() < 0.75),
        "click",
        behind,
        rng,
        rate_hz=rate_hz,
    )


def whistle_session(whistle: Whistle, behind: Wave, rng: Generator, *, rate_hz: int) -> Scene:
    """Return a session with a whistle."""
    return session(lambda rng: whistle.blow(rng, rate_hz=rate_hz), "whistle", behind, rng, rate_hz=rate_hz)


def samples_of(
    sounder: Callable[[Generator], NDArray[np.float64]], n: int, rng: Generator, *, rate_hz: int
) -> list[Wave]:
    """Return n samples as a person gives them for learning: one sound each in 0.8 s, another room, noise 30 dB down."""
    cut = []
    for _ in range(n):
        scene = Scene(at_level(pink(int(0.8 * rate_hz), rng), SPEECH_DBFS - 30.0), rate_hz)
        scene.lay(at_peak(in_room(sounder(rng), rng, rate_hz=rate_hz), rng.uniform(0.2, 0.5)), 0.2)
        cut.append(scene.samples)
    return cut


def home_alone(dog: Dog, behind: Wave, rng: Generator, *, rate_hz: int) -> Scene:
    """Return a dog by itself: bouts of barks and whines, single ones, and household bangs, over a background."""
    scene = Scene(behind.copy(), rate_hz)
    at_s = rng.uniform(8, 20)
    while at_s < scene.duration_s - 12:
        for _ in range(int(rng.integers(1, 9))):
            at_s = _dog_sound(scene, dog, at_s, rng)
        at_s += rng.uniform(7, 40)
        for _ in range(int(rng.integers(0, 4))):
            if at_s < scene.duration_s - 6:
                wave = at_peak(in_room(bang(rng, rate_hz=rate_hz), rng, rate_hz=rate_hz), 10 ** rng.uniform(-2.2, -0.6))
                scene.lay(wave, at_s)
                at_s += rng.uniform(2.5, 7)
    return scene


def _dog_sound(scene: Scene, dog: Dog, at_s: float, rng: Generator) -> float:
    """Lay one bark or whine; return the instant of the next."""
    if at_s > scene.duration_s - 4:
        return at_s
    whines = rng.random() < 0.35
    wave = dog.whine(rng, rate_hz=scene.rate_hz) if whines else dog.bark(rng, rate_hz=scene.rate_hz)
    peak = 10 ** (rng.uniform(-2.0, -0.9) if whines else rng.uniform(-1.4, -0.2))
    scene.lay(at_peak(in_room(wave, rng, rate_hz=scene.rate_hz), peak), at_s, "whine" if whines else "bark")
    return at_s + len(wave) / scene.rate_hz + rng.uniform(0.25, 2.5)
