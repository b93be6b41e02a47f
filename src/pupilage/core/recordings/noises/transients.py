"""Sudden short sounds above 2 kHz, with what tells one from another: rise, decay, spectrum over the noise before."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, uniform_filter1d
from scipy.signal import butter, sosfilt

from pupilage.core.recordings.noises.stretches import Samples

STEP_S = 0.0005
"""Grid of the level; a click's start is known to about twice this."""
LOW_HZ = 2000.0
LEAST_RISE_DB = 9.0
APART_S = 0.02
"""Of two transients closer than this only the stronger is kept; the rest is its own ringing."""
BANDS_HZ = np.geomspace(500.0, 7500.0, 17)
"""Edges of the bands of a spectrum; they end under 8 kHz, so a learned click serves at any rate from 16 kHz up."""
FRAME_S = 0.008
CONTEXT_S = 0.3
_LOG_FLOOR = 1e-12

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Transient:
    """One sudden sound. place: sample number of its start. rise_db: over the mean level of the 60 ms before it.

    shape: rise over 1 ms, fall after 4, 10, 20 and 45 ms, level of 500 Hz to 2 kHz against above, all in dB.
    early, late: shares of power by band in the first 8 ms and in the 8 ms after 4 ms, noise before it taken off.
    """

    place: int
    rise_db: float
    shape: Array
    early: Array
    late: Array


def find_transients(samples: Samples, rate_hz: int) -> list[Transient]:
    """Return the transients of some samples, by place.

    **Model** level = power of the sound above 2 kHz in steps of 0.5 ms; a transient is a local maximum (±20 ms) at
    least 9 dB over the mean log level of the 60 ms before; it starts at the first step in the 6 ms before the maximum
    that has made half of the rise. Parameters: samples in −1..1, rate_hz 16,000 or more.
    """
    step = max(int(STEP_S * rate_hz), 1)
    level = _level_db(samples, rate_hz, step)
    before = _mean_before(level, int(0.06 / STEP_S), int(0.003 / STEP_S))
    rise = level - before
    peak = maximum_filter1d(level, 2 * int(APART_S / STEP_S) + 1)
    places = np.flatnonzero((level >= peak) & (rise >= LEAST_RISE_DB) & (level > -110.0))
    found = []
    for at in places:
        start = _start(level, before, int(at))
        transient = _described(samples, rate_hz, level, at=int(at), start=start * step, rise_db=float(rise[at]))
        if transient is not None:
            found.append(transient)
    return found


def _level_db(samples: Samples, rate_hz: int, step: int) -> Array:
    """Return the level above 2 kHz in dB of full scale, one value a step, smoothed over 1 ms."""
    sos = butter(4, LOW_HZ / (rate_hz / 2), "highpass", output="sos").astype(np.float32)
    high = sosfilt(sos, samples)
    n = len(high) // step
    power = np.square(high[: n * step]).reshape(n, step).mean(axis=1, dtype=np.float64)
    return np.asarray(10 * np.log10(uniform_filter1d(power, 2) + _LOG_FLOOR))


def _mean_before(level: Array, n: int, gap: int) -> Array:
    """Return the mean of the n values that end `gap` values before each place; before the start stands the first."""
    padded = np.concatenate([np.full(n + gap, level[0]), level])
    sums = np.concatenate([[0.0], np.cumsum(padded)])
    return np.asarray((sums[n:] - sums[:-n])[: len(level)] / n)


def _start(level: Array, before: Array, at: int) -> int:
    first = max(at - int(0.006 / STEP_S), 0)
    half = 0.5 * (level[at] + before[at])
    run = np.flatnonzero(level[first : at + 1] < half)
    return first + int(run[-1]) + 1 if len(run) else first


def _described(
    samples: Samples, rate_hz: int, level: Array, *, at: int, start: int, rise_db: float
) -> Transient | None:
    """Return the transient with its figures; None where the recording ends before they can be taken."""
    n_frame = int(FRAME_S * rate_hz)
    first, after = start - int(0.001 * rate_hz), start + int(0.004 * rate_hz)
    if first - 4 * n_frame < 0 or after + n_frame > len(samples) or at + int(0.06 / STEP_S) > len(level):
        return None
    places = [first - k * n_frame for k in (2, 3, 4)] + [first, after]
    *noises, early, late = _bands(np.stack([samples[place : place + n_frame] for place in places]), rate_hz)
    noise = np.mean(noises, axis=0)
    low_bands = BANDS_HZ[:-1] < LOW_HZ
    clean = np.maximum(early - noise, 0.02 * early)
    low_db = 10 * np.log10((clean[low_bands].sum() + _LOG_FLOOR) / (clean[~low_bands].sum() + _LOG_FLOOR))
    falls = [level[at] - level[at + int(ms / 1000 / STEP_S) :][: int(0.004 / STEP_S)].mean() for ms in (4, 10, 20, 45)]
    attack = level[at] - level[max(at - int(0.003 / STEP_S), 0) : max(at - int(0.001 / STEP_S), 1)].mean()
    return Transient(start, rise_db, np.array([attack, *falls, low_db]), _shares(early, noise), _shares(late, noise))


def _bands(frames: Samples, rate_hz: int) -> Array:
    """Return the power of each frame in each band, shape (frames, 16)."""
    window, edges = _window_and_edges(frames.shape[1], rate_hz)
    spectrum = np.abs(np.fft.rfft(frames * window, 4 * frames.shape[1], axis=1)) ** 2
    return np.asarray(np.add.reduceat(spectrum, edges, axis=1))[:, :-1] + _LOG_FLOOR


@cache
def _window_and_edges(n: int, rate_hz: int) -> tuple[Array, NDArray[np.intp]]:
    return np.hanning(n), np.searchsorted(np.fft.rfftfreq(4 * n, 1 / rate_hz), BANDS_HZ)


def _shares(power: Array, noise: Array) -> Array:
    clean = np.maximum(power - 1.5 * noise, 0.01 * power)
    return np.asarray(clean / clean.sum())
