"""Pure tones that last: where one frequency holds most of the power, followed from frame to frame."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_closing

from pupilage.core.recordings.noises.stretches import Samples

FRAME_S, HOP_S = 0.016, 0.004
LOW_HZ, HIGH_HZ = 900.0, 6500.0
LEAST_PURITY = 0.35
LEAST_TONE_S = 0.05
LONGEST_TONE_S = 1.8
CONTEXT_S = 2.0
"""Longer than the longest tone, so that a tone is whole in the stretch in which it starts."""
GAP_FRAMES = 5
JUMP = 0.1
"""A tone that moves by more than this share within one hop of 4 ms is another tone."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Tone:
    """One tone. place, n: first sample and length. figures: see `FIGURES`; course: log frequency at 8 instants."""

    place: int
    n: int
    figures: Array
    course: Array


FIGURES = ("log_duration", "log_hz", "purity", "over_noise", "over_lower", "rise", "wander", "span", "steadiness")


def find_tones(samples: Samples, rate_hz: int) -> list[Tone]:
    """Return the tones of some samples, by place.

    **Model** frames of 16 ms every 4 ms; purity = power within ±2 bins of the strongest bin between 0.9 and 6.5 kHz,
    over the power from 0.7 to 7.5 kHz; a tone is 50 ms or more of frames with a purity of at least 0.35 whose
    frequency does not jump by 10 %. Time is known to about 10 ms.
    """
    if len(samples) < int(4 * FRAME_S * rate_hz):
        return []
    frames = _frames(samples, rate_hz)
    hop = int(HOP_S * rate_hz)
    padded = np.pad(frames.purity >= LEAST_PURITY, GAP_FRAMES)
    tonal = binary_closing(padded, np.ones(GAP_FRAMES, np.bool_))[GAP_FRAMES:-GAP_FRAMES]
    found = []
    for first, last in _runs(tonal, frames.log_hz):
        last = min(last, first + int(LONGEST_TONE_S / HOP_S))
        if (last - first) * HOP_S >= LEAST_TONE_S:
            figures, course = frames.described(first, last)
            middle = int(FRAME_S * rate_hz) // 2
            found.append(Tone(first * hop + middle, (last - first) * hop, figures, course))
    return found


@dataclass(frozen=True)
class _Frames:
    log_hz: Array
    purity: Array
    over_noise_db: Array
    over_lower_db: Array
    level_db: Array

    def described(self, first: int, last: int) -> tuple[Array, Array]:
        log_hz, level = self.log_hz[first:last], self.level_db[first:last]
        before = self.level_db[max(first - 50, 0) : max(first - 4, 1)]
        steps = np.abs(np.diff(log_hz))
        figures = [
            np.log((last - first) * HOP_S / 0.3),
            np.median(log_hz),
            self.purity[first:last].mean(),
            min(np.median(self.over_noise_db[first:last]), 40.0) / 10,
            min(np.median(self.over_lower_db[first:last]), 40.0) / 10,
            min(np.median(level) - before.mean(), 40.0) / 10,
            min(10 * np.median(steps) + 10 * steps.mean(), 2.0),
            min(np.quantile(log_hz, 0.95) - np.quantile(log_hz, 0.05), 1.0),
            min(float(np.std(level)), 20.0) / 10,
        ]
        course = np.interp(np.linspace(0, 1, 8), np.linspace(0, 1, len(log_hz)), log_hz)
        return np.array(figures, float), course


def _frames(samples: Samples, rate_hz: int) -> _Frames:
    n, hop = int(FRAME_S * rate_hz), int(HOP_S * rate_hz)
    cut = np.lib.stride_tricks.sliding_window_view(samples, n)[::hop]
    power = np.abs(np.fft.rfft(cut * np.hanning(n).astype(np.float32), axis=1)) ** 2 + 1e-9
    bins = np.fft.rfftfreq(n, 1 / rate_hz)
    low, high = np.searchsorted(bins, (LOW_HZ, HIGH_HZ))
    top = low + power[:, low:high].argmax(axis=1)
    rows = np.arange(len(power))
    around = sum(power[rows, top + k] for k in range(-2, 3))
    band = power[:, (bins >= 700) & (bins <= 7500)]
    below, above = (np.log(power[rows, top + k]) for k in (-1, 1))
    centre = np.log(power[rows, top])
    curve = below - 2 * centre + above
    shift = np.clip(np.where(curve < 0, 0.5 * (below - above) / np.minimum(curve, -1e-9), 0), -0.5, 0.5)
    hz = (top + shift) * rate_hz / n
    lower = np.where(np.arange(power.shape[1]) < np.maximum(0.72 * top, 3)[:, None], power, 0)[:, 2:].max(axis=1)
    peak_db = 10 * np.log10(power[rows, top])
    noise_db = 10 * np.log10(np.median(band, axis=1))
    return _Frames(
        np.log(hz / 2000.0),
        around / band.sum(axis=1),
        peak_db - noise_db,
        peak_db - 10 * np.log10(lower + 1e-9),
        peak_db,
    )


def _runs(tonal: NDArray[np.bool_], log_hz: Array) -> list[tuple[int, int]]:
    """Return the runs of tonal frames, parted where the frequency jumps."""
    same = np.concatenate([[False], np.abs(np.diff(log_hz)) < JUMP])
    starts = np.flatnonzero(tonal & ~(np.concatenate([[False], tonal[:-1]]) & same))
    ends = np.flatnonzero(~tonal)
    runs = []
    for number, start in enumerate(starts):
        following = starts[number + 1] if number + 1 < len(starts) else len(tonal)
        at = np.searchsorted(ends, start)
        stop = min(int(ends[at]) if at < len(ends) else len(tonal), int(following))
        runs.append((int(start), stop))
    return runs
