"""Bursts: pieces of sound that stand out of a moving floor, with figures that tell bark, whine and the rest apart."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_closing, maximum_filter1d, minimum_filter1d, uniform_filter1d

from pupilage.core.recordings.noises.stretches import Samples

RATE_HZ = 16_000
FRAME, HOP = 512, 160
HOP_S = HOP / RATE_HZ
LEAST_RISE_DB = 8.0
LEAST_BURST_S = 0.05
LONGEST_BURST_S = 1.6
"""A longer sound is parted: it is talk, music or a howl, and a howl in two pieces is still heard as a bout."""
GAP_FRAMES = 5
BEFORE_S = 3.0
EDGES_HZ = np.geomspace(150.0, 7600.0, 19)
SILENT_DB = -105.0
FAINTEST_DB = -75.0
"""Sound fainter than this share of full scale is taken for silence."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Burst:
    """One burst. place, n: first sample and length (at 16 kHz). figures: what the weights look at."""

    place: int
    n: int
    figures: Array


def find_bursts(samples: Samples) -> list[Burst]:
    """Return the bursts of some samples at 16 kHz, by place.

    **Model** the level between 0.15 and 7.6 kHz in frames of 32 ms every 10 ms; the floor is the lowest level,
    smoothed over 0.2 s, of the 3 s before and the 1 s after; a burst is 50 ms or more at least 8 dB over it,
    holes of up to 40 ms closed, and parted after 1.6 s and where the level dips by 6 dB between two tops.
    """
    if len(samples) < 4 * FRAME:
        return []
    power = band_powers(samples)
    level = 10 * np.log10(power.sum(axis=1) + 1e-12)
    floor = np.maximum(moving_floor(level), FAINTEST_DB)
    loud = np.pad(level - floor >= LEAST_RISE_DB, GAP_FRAMES)
    loud = binary_closing(loud, np.ones(GAP_FRAMES, np.bool_))[GAP_FRAMES:-GAP_FRAMES]
    runs = [part for run in _runs(loud) for part in _parted(level, *run)]
    tonality = _tonality(samples, runs)
    return [
        Burst(
            first * HOP + FRAME // 2, (last - first) * HOP, _figures(power, level, floor, tonal, first=first, last=last)
        )
        for (first, last), tonal in zip(runs, tonality, strict=True)
        if (last - first) * HOP_S >= LEAST_BURST_S
    ]


def band_powers(samples: Samples) -> Array:
    """Return the power in 18 bands from 150 Hz to 7.6 kHz, shape (frames, 18): half the mean square in each."""
    cut = np.lib.stride_tricks.sliding_window_view(samples, FRAME)[::HOP]
    window = np.hanning(FRAME).astype(np.float32)
    spectrum = np.abs(np.fft.rfft(cut * window, axis=1)) ** 2
    edges = np.searchsorted(np.fft.rfftfreq(FRAME, 1 / RATE_HZ), EDGES_HZ)
    return np.asarray(np.add.reduceat(spectrum, edges, axis=1)[:, :-1] / (0.375 * FRAME**2), np.float64)


def moving_floor(level: Array) -> Array:
    """Return the lowest level, smoothed over 0.2 s, from 3 s before to 1 s after each frame.

    Digital silence (before the recording, in a gap of it) is no floor: what lies by it is left out.
    """
    width = int(0.2 / HOP_S)
    silent = maximum_filter1d((level < SILENT_DB).astype(np.int8), width + 1, mode="nearest") > 0
    smooth = np.where(silent, np.inf, uniform_filter1d(level, width, mode="nearest"))
    before, after = int(BEFORE_S / HOP_S) - width, int(1.0 / HOP_S)
    floor = minimum_filter1d(smooth, before + after + 1, origin=(before - after) // 2, mode="nearest")
    return np.where(np.isinf(floor), level, floor)


def _runs(loud: NDArray[np.bool_]) -> list[tuple[int, int]]:
    turns = np.flatnonzero(np.diff(np.concatenate([[False], loud, [False]]).astype(np.int8)))
    return [(int(first), int(last)) for first, last in zip(turns[::2], turns[1::2], strict=True)]


def _parted(level: Array, first: int, last: int) -> list[tuple[int, int]]:
    """Part a run at dips of 6 dB between tops, and where a piece is longer than the longest burst."""
    cuts, low, top_before, lowest = [first], first, level[first], level[first]
    for at in range(first + 1, last):
        if level[at] < lowest:
            low, lowest = at, level[at]
        if min(top_before, level[at]) - lowest >= 6.0 and low - cuts[-1] >= 5:
            cuts.append(low)
            top_before, lowest, low = level[at], level[at], at
        elif level[at] > top_before:
            top_before, lowest, low = level[at], level[at], at
        if at - cuts[-1] >= LONGEST_BURST_S / HOP_S:
            cuts.append(at)
            top_before, lowest, low = level[at], level[at], at
    return list(zip(cuts, [*cuts[1:], last], strict=True))


def _tonality(samples: Samples, runs: list[tuple[int, int]]) -> Array:
    """Return, for each run, pitch (log of Hz/500), strength and drift of the best repetition in its loudest 96 ms."""
    out = np.zeros((len(runs), 3))
    for row, (first, last) in enumerate(runs):
        middle = (first + last) * HOP // 2 + FRAME // 2
        halves = [_repetition(samples[max(middle + shift, 0) :][:768]) for shift in (-768, 0)]
        lag = max(halves, key=lambda half: half[1])
        drift = abs(halves[0][0] - halves[1][0])
        out[row] = lag[0], lag[1], min(drift, 1.5)
    return out


def _repetition(piece: Samples) -> tuple[float, float]:
    """Return log(pitch/500 Hz) and strength (0 to 1) of the strongest repetition between 120 and 2500 Hz."""
    if len(piece) < 768:
        return 0.0, 0.0
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(768), 2048)) ** 2
    own = np.fft.irfft(spectrum)
    shape = own[6:134] / (own[0] + 1e-12) / (1 - np.arange(6, 134) / 768)
    lag = int(shape.argmax())
    return float(np.log(RATE_HZ / (lag + 6) / 500.0)), float(np.clip(shape[lag], 0, 1))


def _figures(power: Array, level: Array, floor: Array, tonal: Array, *, first: int, last: int) -> Array:
    """Return duration, rise, attack, fall, centre and its drift, flatness, tonality, and the shares of nine bands."""
    mine = power[first:last]
    noise = power[max(first - 30, 0) : max(first - 3, 1)].mean(axis=0)
    clean = np.maximum(mine.mean(axis=0) - noise, 0.02 * mine.mean(axis=0)) + 1e-14
    shares = np.log10(clean.reshape(9, 2).sum(axis=1) / clean.sum() + 1e-4)
    middle = np.log(np.sqrt(EDGES_HZ[1:] * EDGES_HZ[:-1]) / 1000)
    centres = (mine * middle).sum(axis=1) / (mine.sum(axis=1) + 1e-14)
    top = first + int(level[first:last].argmax())
    n = last - first
    return np.array(
        [
            np.log(n * HOP_S / 0.2),
            min(level[top] - floor[top], 50.0) / 10,
            (level[top] - level[max(first - 2, 0)]) / 10 / (top - first + 2),
            (level[top] - level[min(last + 4, len(level) - 1)]) / 10,
            (top - first) / n,
            float((clean * middle).sum() / clean.sum()),
            min(float(np.std(centres)), 1.5),
            float(np.mean(np.log(clean)) - np.log(clean.mean())) / 3,
            *tonal,
            min(float(np.std(level[first:last])), 20.0) / 10,
            *shares,
        ]
    )
