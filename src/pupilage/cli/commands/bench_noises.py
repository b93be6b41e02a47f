"""How well clicks, whistles, barks and whines are found, on sounds and seeds that nothing was learned from."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

Condition = tuple[str, str, float]
CONDITIONS: tuple[Condition, ...] = (
    ("quiet", "quiet", 0.0),
    ("pink 20 dB", "pink", 20.0),
    ("pink 10 dB", "pink", 10.0),
    ("babble 20 dB", "babble", 20.0),
    ("babble 10 dB", "babble", 10.0),
    ("television 20 dB", "television", 20.0),
    ("television 10 dB", "television", 10.0),
)
RATE_HZ = 32_000
KEYS_FOLDER = Path("/usr/share/buckle/wav")
"""Debian's bucklespring-data: mechanical keys, pressed (…-1.wav) and let go (…-0.wav)."""


class Measured(NamedTuple):
    """One row of what was reached."""

    what: str
    condition: str
    precision: float
    recall: float
    f1: float
    n_true: int
    median_ms: float
    ninety_ms: float


def _measured(what: str, condition: str, matched: Any) -> Measured:
    figures = (
        matched.precision,
        matched.recall,
        matched.f1,
        matched.n_true,
        matched.error_ms(0.5),
        matched.error_ms(0.9),
    )
    return Measured(what, condition, *figures)


def measure_clicks(
    *, n_clickers: int = 6, session_s: float = 60.0, learned: bool = True, seed: int = 7
) -> list[Measured]:
    """Return F1 of clicks of unseen made clickers for each background, with learning from three or without."""
    from pupilage.core.recordings.noises.clicks import ClickDetector, learn_click
    from pupilage.core.simulation.sounds.scenes import click_session, samples_of
    from pupilage.core.simulation.sounds.trainers import Clicker

    def one(rng: Any, behind: Any) -> Any:
        clicker = Clicker.drawn(rng)
        cuts = samples_of(lambda rng: clicker.press(rng, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ)
        detector = ClickDetector(RATE_HZ, learn_click(cuts, RATE_HZ) if learned else None)
        return _scored(click_session(clicker, behind, rng, rate_hz=RATE_HZ), detector, tolerance_s=0.05)

    what = "clicks, learned from 3" if learned else "clicks, not learned"
    return list(_each_condition(what, one, n=n_clickers, seed=seed, session_s=session_s))


def measure_whistles(
    *, n_whistles: int = 6, session_s: float = 60.0, learned: bool = True, seed: int = 8
) -> list[Measured]:
    """Return F1 of whistles of unseen made whistles for each background."""
    from pupilage.core.recordings.noises.whistles import WhistleDetector, learn_whistle
    from pupilage.core.simulation.sounds.scenes import samples_of, whistle_session
    from pupilage.core.simulation.sounds.trainers import Whistle

    def one(rng: Any, behind: Any) -> Any:
        whistle = Whistle.drawn(rng)
        cuts = samples_of(lambda rng: whistle.blow(rng, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ)
        detector = WhistleDetector(RATE_HZ, [learn_whistle("here", cuts, RATE_HZ)] if learned else ())
        return _scored(whistle_session(whistle, behind, rng, rate_hz=RATE_HZ), detector, tolerance_s=0.1)

    what = "whistles, learned from 3" if learned else "whistles, not learned"
    return list(_each_condition(what, one, n=n_whistles, seed=seed, session_s=session_s))


def _each_condition(
    what: str, one: Callable[[Any, Any], Any], *, n: int, seed: int, session_s: float
) -> Iterator[Measured]:
    import numpy as np

    from pupilage.core.simulation.sounds.scenes import SPEECH_DBFS, Background, background
    from pupilage.core.simulation.sounds.scoring import Matched

    for number, (name, kind, under_db) in enumerate(CONDITIONS):
        rng, total = np.random.default_rng([seed, number]), Matched(0, 0, 0)
        for _ in range(n):
            behind = background(Background(kind), session_s, SPEECH_DBFS - under_db, rng, rate_hz=RATE_HZ)
            total += one(rng, behind)
        yield _measured(what, name, total)


def _scored(scene: Any, detector: Any, *, tolerance_s: float, at_least: float = 0.5) -> Any:
    from pupilage.core.simulation.sounds.scoring import match

    found = [*detector.feed(scene.samples), *detector.finish()]
    starts = [event.start_s for event in found if (event.confidence or 0.0) >= at_least]
    return match(starts, [start_s for _, start_s, _ in scene.truths], tolerance_s)
