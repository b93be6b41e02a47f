"""Samples of a person's words, cut out of a recording where they tapped."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.words.frames import RATE_HZ
from pupilage.core.recordings.words.loudness import TICK_S, joined_runs, levels
from pupilage.core.words import Sentence, sentence

N_SAMPLES = 3
SHORTEST_S = 0.25
"""Shorter words are found less surely: there is little in them to tell them from other short sounds."""
LONGEST_S = 1.5
LEAD_UP_S = 0.25
TAP_LATE_S = 1.2
TAP_EARLY_S = 0.3
"""A tap stands up to this long after, or before, the word that it means."""

Array = NDArray[np.float32]

SPOKEN = frozenset(
    {
        EventKind.CUE,
        EventKind.MARKER,
        EventKind.RELEASE,
        EventKind.PRAISE,
        EventKind.REWARD,
        EventKind.NAME,
        EventKind.IGNORE,
    }
)


@dataclass(frozen=True)
class Word:
    """One word of a set: what is written for it, its role, and the behaviour that it asks for, where it is a cue."""

    label: str
    kind: EventKind
    behaviour: str = ""

    def __post_init__(self) -> None:
        if not self.label.strip():
            raise InvalidInput.of("label", "A word needs something to be called; write it as you would say it.")
        if self.kind not in SPOKEN:
            raise InvalidInput.of("kind", "“{given}” is no role of a word.", given=str(self.kind))


@dataclass(frozen=True)
class Sample:
    """One word as it was said once: the sound from its start to its end, 16 kHz mono."""

    word: Word
    sound: Array

    @property
    def duration_s(self) -> float:
        return len(self.sound) / RATE_HZ


def cut_word(sound: Array, tap_s: float) -> tuple[float, float]:
    """Return (start, end) in seconds of the word that a tap at `tap_s` means.

    The loudest stretch near the tap that stands out of the background by 10 dB, pauses up to 0.12 s within it allowed,
    and what leads up to it: many words begin softly, and their start is what a latency is counted from.
    Raises InvalidInput where nothing stands out there.
    """
    from_s, to_s = max(tap_s - TAP_LATE_S, 0.0), tap_s + TAP_EARLY_S
    level = levels(sound[round(from_s * RATE_HZ) : round(to_s * RATE_HZ)])
    floor = levels(sound)
    if len(level) >= 10:
        bottom = float(np.percentile(floor, 15))
        threshold = max(bottom + 10.0, float(level.max()) - 25.0)
        runs = joined_runs(level > threshold, shortest_s=0.06, pause_s=0.12)
        if runs and level.max() > bottom + 10.0:
            start, end = max(runs, key=lambda run: _energy(level, run))
            start = _soft_start(level, start, bottom)
            return from_s + start, min(from_s + end, from_s + start + LONGEST_S)
    raise InvalidInput.of(
        "at_s", "No word stands out of the background near {at_s:.1f} s; tap closer to it.", at_s=tap_s
    )


def _soft_start(level: Array, start_s: float, floor_db: float) -> float:
    """Return where what leads up to `start_s` begins: 6 dB over the floor, and at most 35 under the peak."""
    first = round(start_s / TICK_S)
    soft = level > max(floor_db + 6.0, float(level.max()) - 35.0)
    earliest = max(first - round(LEAD_UP_S / TICK_S), 0)
    while first > earliest and soft[first - 1]:
        first -= 1
    return first * TICK_S


def _energy(level: Array, run: tuple[float, float]) -> float:
    return float(np.sum(10.0 ** (level[round(run[0] / TICK_S) : round(run[1] / TICK_S)] / 10.0)))


def sample_at(sound: Array, word: Word, tap_s: float) -> Sample:
    """Return the sample of a word that a tap at `tap_s` means; see `cut_word`."""
    start_s, end_s = cut_word(sound, tap_s)
    return Sample(word, np.array(sound[round(start_s * RATE_HZ) : round(end_s * RATE_HZ)], np.float32))


def remarks_on(samples: list[Sample]) -> list[Sentence]:
    """Return what a person should know before these are learned: words too short, or said too few times."""
    told = []
    for word in dict.fromkeys(sample.word for sample in samples):
        durations = [sample.duration_s for sample in samples if sample.word == word]
        if len(durations) < N_SAMPLES:
            told.append(
                sentence(
                    "“{word}” has {n} of {needed} samples; with fewer it is missed more often.",
                    word=word.label,
                    n=len(durations),
                    needed=N_SAMPLES,
                )
            )
        if float(np.median(durations)) < SHORTEST_S:
            told.append(
                sentence(
                    "“{word}” lasts {duration_s:.2f} s in your samples. Under {least_s} s a word is easily mistaken "
                    "for another sound; a longer word is found more surely.",
                    word=word.label,
                    duration_s=float(np.median(durations)),
                    least_s=SHORTEST_S,
                )
            )
    return told
