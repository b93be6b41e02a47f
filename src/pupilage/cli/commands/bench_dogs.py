"""How well barks and whines are found, on made dogs that nothing was learned from, and in front of real voices."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from pupilage.cli.commands.bench_noises import Measured, as_measured, real_talk

RATE_HZ = 16_000
Home = tuple[str, str, float]
HOMES: tuple[Home, ...] = (
    ("quiet", "quiet", -62.0),
    ("television at -52 dBFS", "television", -52.0),
    ("television at -42 dBFS", "television", -42.0),
    ("real voice at -52 dBFS", "real", -52.0),
    ("real voice at -42 dBFS", "real", -42.0),
)
"""Name, kind of background, level. The real voice is that of Debian's asterisk prompts, where they are installed."""
FREE_S, MARKING_S = 60.0, 150.0


def measure_barks(
    embed: Callable[[Any], Any] | None,
    *,
    adapted: bool = False,
    n_dogs: int = 6,
    home_s: float = 180.0,
    homes: Sequence[Home] = HOMES,
    seed: int = 9,
) -> list[Measured]:
    """Return F1 of barks and of whines for each home.

    embed: `speech_embedding().one_phase`, or None for bursts alone. adapted: three barks, two whines and 60 s without
    the dog are marked in another 150 s of the same home before the recording is read.
    """
    import numpy as np

    rows = []
    for number, (name, kind, level_dbfs) in enumerate(homes):
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


def measure_long_home(
    embed: Callable[[Any], Any] | None, speech: Any = None, *, hours: float = 3.0
) -> dict[str, float]:
    """Return seconds and peak memory of reading a long home: quality, runs of speech, barks and whines, the result.

    speech: a `SpeechMeter`, or None for runs by energy. The sound is ten minutes of a dog with the television on,
    the dearest case, again and again. Peak memory is the process's from then on, as Linux keeps it.
    """
    import time

    import numpy as np

    from pupilage.core.recordings.noises.bursts import HOP_S
    from pupilage.core.recordings.noises.dogs import DogDetector
    from pupilage.core.recordings.noises.home_alone import home_background, read_home_alone
    from pupilage.core.recordings.noises.quality import QualityMeter
    from pupilage.core.simulation.sounds.dogs import Dog
    from pupilage.core.simulation.sounds.scenes import home_alone

    rng = np.random.default_rng(3)
    piece = home_alone(
        Dog.drawn(rng), np.resize(_behind("television", 120.0, -52.0, rng), 600 * RATE_HZ), rng, rate_hz=RATE_HZ
    )
    dogs, quality, found = DogDetector(embed), QualityMeter(), []
    Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here, without the making of the sound
    started, cpu = time.perf_counter(), time.process_time()
    for number in range(int(hours * 120)):
        at = number % 20 * 30 * RATE_HZ
        block = piece.samples[at : at + 30 * RATE_HZ]
        quality.feed(block)
        if speech is not None:
            speech.feed(block)
        found += dogs.feed(block)
    found += dogs.finish()
    runs = None if speech is None else speech.runs()
    judged = quality.finish(runs)
    listened = None if speech is None else speech.listened()
    spoken = quality.levels.runs() if runs is None else runs
    background = home_background(quality.levels.level_db, spoken, found, step_s=HOP_S, listened=listened)
    result = read_home_alone(found, door_s=0.0, end_s=judged.duration_s, background=background)
    return {
        "wall_s": time.perf_counter() - started,
        "cpu_s": time.process_time() - cpu,
        "peak_mb": _peak_mb(),
        "n_events": float(len(found)),
        "can_tell": float(result.can_tell),
    }


def _peak_mb() -> float:
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def measure_home_alone(
    embed: Callable[[Any], Any] | None,
    *,
    n_dogs: int = 4,
    home_s: float = 300.0,
    homes: Sequence[Home] = HOMES,
    seed: int = 12,
) -> list[dict[str, Any]]:
    """Return, for each home, bouts found of true, bouts right of shown, and first vocalisations right to 1 s.

    With the rules as they come: a pause of 5 s, two vocalisations, a confidence of 0.7.
    """
    rows = []
    for number, (name, kind, level_dbfs) in enumerate(homes):
        row: dict[str, Any] = {
            "home": name,
            "found": 0,
            "true": 0,
            "right": 0,
            "shown": 0,
            "first_right": 0,
            "homes": 0,
        }
        for dog_number in range(n_dogs):
            _add_home(row, (kind, home_s, level_dbfs), embed, seeds=[seed, number, dog_number])
        if row["homes"]:
            rows.append(row)
    return rows


def _add_home(row: dict[str, Any], home: tuple[str, float, float], embed: Any, *, seeds: list[int]) -> None:
    import numpy as np

    from pupilage.core.recordings.events import Event, EventKind
    from pupilage.core.recordings.noises.dogs import DogDetector
    from pupilage.core.recordings.noises.home_alone import read_home_alone
    from pupilage.core.simulation.sounds.dogs import Dog
    from pupilage.core.simulation.sounds.scenes import home_alone

    rng = np.random.default_rng(seeds)
    behind = _behind(*home, rng)
    if behind is None:
        return
    scene = home_alone(Dog.drawn(rng), behind, rng, rate_hz=RATE_HZ)
    detector = DogDetector(embed)
    heard = [*detector.feed(scene.samples), *detector.finish()]
    truths = [Event(start_s, end_s, EventKind(kind), kind) for kind, start_s, end_s in scene.truths]
    found, true = (read_home_alone(events, door_s=0.0, end_s=scene.duration_s) for events in (heard, truths))
    row["found"] += sum(any(_meet(bout, other) for other in found.bouts) for bout in true.bouts)
    row["right"] += sum(any(_meet(bout, other) for other in true.bouts) for bout in found.bouts)
    row["true"] += len(true.bouts)
    row["shown"] += len(found.bouts)
    row["homes"] += 1
    if found.first_s is not None and true.first_s is not None:
        row["first_right"] += int(abs(found.first_s - true.first_s) < 1)


def _meet(bout: Any, other: Any) -> bool:
    return bool(bout.start_s < other.end_s and other.start_s < bout.end_s)
