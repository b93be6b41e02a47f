"""How well clicks, whistles, barks and whines are found, on sounds and seeds that nothing was learned from."""

from collections.abc import Callable, Iterator, Sequence
from functools import cache
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
TALK_FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
"""Debian's asterisk-core-sounds-en-wav: one speaker's telephone prompts."""


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


def as_measured(what: str, condition: str, matched: Any) -> Measured:
    """Return a row of one comparison."""
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
    *,
    n_clickers: int = 6,
    session_s: float = 60.0,
    learned: bool = True,
    conditions: Sequence[Condition] = CONDITIONS,
    seed: int = 7,
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
    return list(_each_condition(what, one, n=n_clickers, seed=seed, session_s=session_s, conditions=conditions))


def measure_whistles(
    *,
    n_whistles: int = 6,
    session_s: float = 60.0,
    learned: bool = True,
    conditions: Sequence[Condition] = CONDITIONS,
    seed: int = 8,
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
    return list(_each_condition(what, one, n=n_whistles, seed=seed, session_s=session_s, conditions=conditions))


def _each_condition(
    what: str, one: Callable[[Any, Any], Any], *, n: int, seed: int, session_s: float, conditions: Sequence[Condition]
) -> Iterator[Measured]:
    import numpy as np

    from pupilage.core.simulation.sounds.scenes import SPEECH_DBFS, Background, background
    from pupilage.core.simulation.sounds.scoring import Matched

    for number, (name, kind, under_db) in enumerate(conditions):
        rng, total = np.random.default_rng([seed, number]), Matched(0, 0, 0)
        for _ in range(n):
            behind = background(Background(kind), session_s, SPEECH_DBFS - under_db, rng, rate_hz=RATE_HZ)
            total += one(rng, behind)
        yield as_measured(what, name, total)


def _scored(scene: Any, detector: Any, *, tolerance_s: float, at_least: float = 0.5) -> Any:
    from pupilage.core.simulation.sounds.scoring import match

    found = [*detector.feed(scene.samples), *detector.finish()]
    starts = [event.start_s for event in found if (event.confidence or 0.0) >= at_least]
    return match(starts, [start_s for _, start_s, _ in scene.truths], tolerance_s)


def measure_keys(
    *, session_s: float = 120.0, conditions: Sequence[Condition] = CONDITIONS, seed: int = 11
) -> list[Measured]:
    """Return F1 of real mechanical clicks, press and release: three keys learned, the others sought.

    Empty where Debian's bucklespring-data is not installed. Each key is another sound, as if 80 clickers were sought
    with what three others taught, so one real clicker should do better.
    """
    import numpy as np

    from pupilage.core.recordings.noises.clicks import ClickDetector, learn_click
    from pupilage.core.simulation.sounds.scenes import samples_of, session

    keys = real_keys()
    if not keys:
        return []
    sound = learn_click(
        [samples_of(lambda _, key=key: key, 1, np.random.default_rng(seed), rate_hz=RATE_HZ)[0] for key in keys[:3]],
        RATE_HZ,
    )

    def one(rng: Any, behind: Any) -> Any:
        scene = session(lambda rng: keys[int(rng.integers(3, len(keys)))], "click", behind, rng, rate_hz=RATE_HZ)
        return _scored(scene, ClickDetector(RATE_HZ, sound), tolerance_s=0.25)

    return list(
        _each_condition("real keys, 3 learned", one, n=1, seed=seed, session_s=session_s, conditions=conditions)
    )


@cache
def real_keys() -> tuple[Any, ...]:
    """Return each key's press and release, 0.12 s apart; none where the package is missing."""
    import numpy as np

    presses = sorted(KEYS_FOLDER.glob("*-1.wav"))
    keys = []
    for press in presses:
        release = press.with_name(press.name.replace("-1.wav", "-0.wav"))
        if release.exists():
            down, up = _wav(press, rate_hz=RATE_HZ), _wav(release, rate_hz=RATE_HZ)
            whole = np.zeros(max(len(down), int(0.12 * RATE_HZ) + len(up)))
            whole[: len(down)] += down
            whole[int(0.12 * RATE_HZ) :][: len(up)] += up
            keys.append(whole)
    return tuple(keys)


def _wav(path: Path, *, rate_hz: int) -> Any:
    import wave

    import numpy as np
    from scipy.signal import resample_poly

    with wave.open(str(path)) as file:
        raw = np.frombuffer(file.readframes(file.getnframes()), np.int16).reshape(-1, file.getnchannels())
        return resample_poly(raw[:, 0] / 32768.0, rate_hz, file.getframerate())


def real_talk(duration_s: float, rng: Any, *, rate_hz: int) -> Any:
    """Return that much of a real voice, prompts in any order; None where Debian's asterisk sounds are not installed."""
    import numpy as np

    paths = sorted(TALK_FOLDER.glob("*.wav"))
    if not paths:
        return None
    parts, n = [], 0
    while n < duration_s * rate_hz:
        part = _wav(paths[int(rng.integers(len(paths)))], rate_hz=rate_hz)
        parts.append(part)
        n += len(part)
    return np.concatenate(parts)[: int(duration_s * rate_hz)]
