"""How well barks and whines are found, on made dogs that nothing was learned from, and in front of real voices."""

from collections.abc import Callable, Iterator
from typing import Any

from pupilage.cli.commands.bench_noises import Measured, as_measured, real_talk

RATE_HZ = 16_000
HOMES: tuple[tuple[str, str, float], ...] = (
    ("quiet", "quiet", -62.0),
    ("television at -52 dBFS", "television", -52.0),
    ("television at -42 dBFS", "television", -42.0),
    ("real voice at -52 dBFS", "real", -52.0),
    ("real voice at -42 dBFS", "real", -42.0),
)
"""Name, kind of background, level. The real voice is that of Debian's asterisk prompts, where they are installed."""
FREE_S, MARKING_S = 60.0, 60.0


def measure_barks(
    embed: Callable[[Any], Any] | None, *, adapted: bool = False, n_dogs: int = 6, home_s: float = 180.0, seed: int = 9
) -> list[Measured]:
    """Return F1 of barks and of whines for each home.

    embed: `speech_embedding().one_phase`, or None for bursts alone. adapted: three barks, two whines and 60 s without
    the dog are marked in another minute of the same home before the recording is read.
    """
    import numpy as np

    rows = []
    for number, (name, kind, level_dbfs) in enumerate(HOMES):
        totals: dict[str, Any] = {}
        for dog_number in range(n_dogs):
            rng = np.random.default_rng([seed, number, dog_number])
            behind = _behind(kind, FREE_S + MARKING_S + home_s, level_dbfs, rng)
            if behind is None:
                break
            for what, matched in _in_one_home(behind, rng, embed=embed, adapted=adapted):
                totals[what] = totals[what] + matched if what in totals else matched
        how = ("embedding" if embed else "bands") + (", marked" if adapted else "")
        rows += [as_measured(f"{what}s ({how})", name, matched) for what, matched in totals.items()]
    return rows


def _behind(kind: str, duration_s: float, level_dbfs: float, rng: Any) -> Any:
    from pupilage.core.simulation.sounds.scenes import Background, background
    from pupilage.core.simulation.sounds.tones import at_level

    if kind != "real":
        return background(Background(kind), duration_s, level_dbfs, rng, rate_hz=RATE_HZ)
    talk = real_talk(duration_s, rng, rate_hz=RATE_HZ)
    return None if talk is None else at_level(talk, level_dbfs)


def _in_one_home(
    behind: Any, rng: Any, *, embed: Callable[[Any], Any] | None, adapted: bool
) -> Iterator[tuple[str, Any]]:
    from pupilage.core.recordings.noises.dogs import DogDetector
    from pupilage.core.simulation.sounds.dogs import Dog
    from pupilage.core.simulation.sounds.scenes import home_alone
    from pupilage.core.simulation.sounds.scoring import match

    dog = Dog.drawn(rng)
    n_free, n_marking = int(FREE_S * RATE_HZ), int(MARKING_S * RATE_HZ)
    marking = home_alone(dog, behind[n_free : n_free + n_marking], rng, rate_hz=RATE_HZ)
    scene = home_alone(dog, behind[n_free + n_marking :], rng, rate_hz=RATE_HZ)
    weights = _learned(marking, behind[:n_free], embed) if adapted else None
    detector = DogDetector(embed, weights=weights)
    found = [*detector.feed(scene.samples), *detector.finish()]
    for kind in ("bark", "whine"):
        starts = [event.start_s for event in found if event.kind == kind and (event.confidence or 0.0) >= 0.5]
        yield kind, match(starts, [start_s for what, start_s, _ in scene.truths if what == kind], 0.3)


def _learned(marking: Any, free: Any, embed: Callable[[Any], Any] | None) -> Any:
    """Return the weights after marking, or None for a dog that never barked three times in the minute."""
    from pupilage.core.errors import InvalidInput
    from pupilage.core.recordings.noises.dogs import Mark, learn_dog

    marks = {
        kind: [Mark(marking.samples, start_s + 0.05) for what, start_s, _ in marking.truths if what == kind]
        for kind in ("bark", "whine")
    }
    try:
        return learn_dog(marks["bark"][:3], whines=marks["whine"][:2], dog_free=free, embed=embed)
    except InvalidInput:
        return None
