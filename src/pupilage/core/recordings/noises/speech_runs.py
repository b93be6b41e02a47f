"""Runs of speech, from a chance of speech by frame or from energy alone, and when they may be trusted."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.bursts import HOP_S, RATE_HZ, band_powers, moving_floor
from pupilage.core.recordings.noises.stretches import Samples, Stretch, Stretches

Array = NDArray[np.float64]
Run = tuple[float, float]
"""Start and end in seconds."""

MOST_SPEECH = 0.6
"""Above this share of speech the background itself is speech: a run no longer tells talk from a cue (own choice)."""
LONG_RUN_S = 1.7
"""A run longer than this is talk, not a cue (measured on made voices)."""
CLOSE_S, LEAST_S = 0.25, 0.12
RISE_DB = 9.0
_OWN_S, _CONTEXT_S = 30.0, 4.0
_VOICE = slice(2, 14)
"""The bands from about 230 Hz to 3 kHz, where the power of speech lies."""


def runs_of_speech(p_speech: Sequence[float] | Array, step_s: float, *, at_least: float = 0.5) -> list[Run]:
    """Return the runs of 0.12 s or more whose chance of speech is at least that, pauses up to 0.25 s closed."""
    spoken = np.concatenate([[False], np.asarray(p_speech) >= at_least, [False]])
    turns = np.flatnonzero(np.diff(spoken.astype(np.int8)))
    runs = [(float(a) * step_s, float(b) * step_s) for a, b in zip(turns[::2], turns[1::2], strict=True)]
    return [run for run in closed_up(runs, CLOSE_S) if run[1] - run[0] >= LEAST_S]


def closed_up(runs: Sequence[Run], pause_s: float) -> list[Run]:
    """Return the runs in time order, those parted by no more than the pause joined."""
    joined: list[Run] = []
    for start_s, end_s in sorted(runs):
        if joined and start_s - joined[-1][1] <= pause_s:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end_s))
        else:
            joined.append((start_s, end_s))
    return joined


def share_of(runs: Sequence[Run], duration_s: float) -> float:
    """Return the share of a recording that runs cover, 0 to 1; 0 for a recording of no length."""
    return min(sum(end_s - start_s for start_s, end_s in runs) / duration_s, 1.0) if duration_s > 0 else 0.0


def long_talk(runs: Sequence[Run], duration_s: float) -> list[Run]:
    """Return the runs that are talk, to show hits inside them one band lower; none where speech is the background.

    **Model** runs longer than 1.7 s, provided that speech covers less than 60 % of the recording.
    """
    if share_of(runs, duration_s) >= MOST_SPEECH:
        return []
    return [run for run in runs if run[1] - run[0] > LONG_RUN_S]


def as_events(runs: Sequence[Run]) -> list[Event]:
    """Return runs as events of talk, without a confidence."""
    return [Event(start_s, end_s, EventKind.TALK, "talk") for start_s, end_s in runs]


@dataclass(frozen=True)
class LevelOf:
    """Levels of the frames (every 10 ms) of one stretch's own part, in dB of full scale."""

    voice_db: Array
    floor_db: Array


class LevelMeter:
    """Takes sound at 16 kHz block by block; keeps the level of the voice's bands and its moving floor, every 10 ms.

    Three hours are a million frames: 9 MB. The fallback for runs of speech where no speech model is installed.
    """

    def __init__(self) -> None:
        context = int(_CONTEXT_S * RATE_HZ)
        self._stretches = Stretches(int(_OWN_S * RATE_HZ), context, context)
        self._voice: list[NDArray[np.float32]] = []
        self._floor: list[NDArray[np.float32]] = []

    def feed(self, block: Samples) -> None:
        """Take a block."""
        for stretch in self._stretches.feed(block):
            self._take(stretch)

    def finish(self) -> None:
        """Take what is left; the meter is then done."""
        for stretch in self._stretches.finish():
            self._take(stretch)

    def _take(self, stretch: Stretch) -> None:
        power = band_powers(stretch.samples)[:, _VOICE].sum(axis=1)
        level = 10 * np.log10(2 * power + 1e-12)
        first = round(stretch.before / RATE_HZ / HOP_S)
        own = slice(first, first + round(stretch.n_own / RATE_HZ / HOP_S))
        self._voice.append(level[own].astype(np.float32))
        self._floor.append(moving_floor(level)[own].astype(np.float32))

    @property
    def level_db(self) -> NDArray[np.float32]:
        """The level of the voice's bands in every frame so far."""
        return np.concatenate(self._voice) if self._voice else np.zeros(0, np.float32)

    @property
    def floor_db(self) -> NDArray[np.float32]:
        """The moving floor in every frame so far."""
        return np.concatenate(self._floor) if self._floor else np.zeros(0, np.float32)

    def runs(self) -> list[Run]:
        """Return the runs in which the level is 9 dB or more above the floor: speech, or anything as loud."""
        return runs_of_speech((self.level_db - np.maximum(self.floor_db, -75.0) >= RISE_DB).astype(float), HOP_S)
