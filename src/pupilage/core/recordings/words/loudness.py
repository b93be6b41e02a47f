"""How loud it is from hundredth to hundredth of a second: the floor of a recording, rises of energy, runs of words."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, percentile_filter, uniform_filter1d

from pupilage.core.recordings.words.frames import RATE_HZ

TICK_S = 0.01
_TICK_SAMPLES = round(TICK_S * RATE_HZ)
SILENT_DB = -90.0

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Loudness:
    """Level of each hundredth of a second, dB below full scale (n,)."""

    level_db: Array

    @property
    def floor_db(self) -> float:
        """The level that a tenth of the recording stays under: its background."""
        return float(np.percentile(self.level_db, 10)) if len(self.level_db) else SILENT_DB

    @property
    def voice_db(self) -> float:
        """The level of its loud parts: the 95th percentile."""
        return float(np.percentile(self.level_db, 95)) if len(self.level_db) else SILENT_DB

    def rise_near(self, at_s: float, *, within_s: float) -> float | None:
        """Return where the level rises most within `within_s` of a time, or None where it hardly rises (6 dB)."""
        first = max(round((at_s - within_s) / TICK_S), 3)
        last = min(round((at_s + within_s) / TICK_S) + 1, len(self.level_db) - 2)
        if last <= first:
            return None
        places = np.arange(first, last)
        after = np.maximum(self.level_db[places], self.level_db[places + 1])
        rise = after - np.minimum(self.level_db[places - 2], self.level_db[places - 1])
        best = int(np.argmax(rise))
        return float(places[best] * TICK_S) if rise[best] >= 6.0 else None


def loudness_of(sounds: Iterable[Array]) -> Loudness:
    """Return the loudness of a recording given in pieces, at 16 kHz; every piece but the last in whole ticks."""
    return Loudness(np.concatenate([np.zeros(0, np.float32), *map(levels, sounds)]))


def levels(sound: Array) -> Array:
    """Return the level of each hundredth of a second, dB below full scale; what is left over at the end is dropped."""
    n = len(sound) // _TICK_SAMPLES
    ticks = sound[: n * _TICK_SAMPLES].reshape(n, _TICK_SAMPLES)
    power = np.einsum("ij,ij->i", ticks, ticks) / _TICK_SAMPLES
    return np.asarray(10.0 * np.log10(power + 10.0 ** (SILENT_DB / 10.0)), np.float32)


def talk_runs(loudness: Loudness, *, shortest_s: float = 1.7, pause_s: float = 0.35) -> list[tuple[float, float]]:
    """Return stretches of loud sound at least `shortest_s` long, joined over pauses up to `pause_s`.

    Loud is 6 dB above a floor that moves with the recording (the 15th percentile of 6 s), its level smoothed over
    90 ms. In babble this is steadier than a voice detector, which hears one endless sentence.
    """
    level = uniform_filter1d(loudness.level_db, 9)
    if not len(level):
        return []
    coarse = percentile_filter(level[::10], 15, size=60)
    floor = np.repeat(coarse, 10)[: len(level)]
    floor = np.maximum(floor, maximum_filter1d(level, 300) - 40.0)
    return joined_runs(level > floor + 6.0, shortest_s=shortest_s, pause_s=pause_s)


def joined_runs(loud: NDArray[np.bool_], *, shortest_s: float, pause_s: float) -> list[tuple[float, float]]:
    """Return runs of True as (start, end) in seconds, joined over short pauses, the short ones left out."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], loud, [False]]).astype(np.int8)))
    runs: list[tuple[float, float]] = []
    for start, end in zip(edges[::2] * TICK_S, edges[1::2] * TICK_S, strict=True):
        if runs and start - runs[-1][1] <= pause_s:
            runs[-1] = (runs[-1][0], float(end))
        else:
            runs.append((float(start), float(end)))
    return [run for run in runs if run[1] - run[0] >= shortest_s]
