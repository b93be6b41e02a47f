"""From chances every 20 ms to events: peaks, their confidence, their start, and whether they stand in talk."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from pupilage.core.recordings.events import Event, in_time_order
from pupilage.core.recordings.words.frames import HOP_S
from pupilage.core.recordings.words.lessons import LEAD_S
from pupilage.core.recordings.words.loudness import Loudness
from pupilage.core.recordings.words.model import Scores, WordModel

SMOOTHED = 3
LEAST_CONFIDENCE = 0.05
APART_S = 0.3
"""Of peaks closer than this the most likely one stays: nobody says two cues in that time."""
ONSET_BIAS_S = 0.0
SNAP_WITHIN_S = 0.06
SNAP_FROM_DB = 30.0
"""Starts are moved to the nearest rise of energy only where the voice stands this far above the floor."""
TALK_SHARE_LIMIT = 0.6
"""With more of the recording than this in running speech, the background itself is speech, and says nothing."""

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Heard:
    """An event that was found, with the place of its embedding among the scores."""

    event: Event
    place: int


def find_words(model: WordModel, scores: Scores, loudness: Loudness) -> list[Heard]:
    """Return the words that were heard, in order, from a confidence of 0.05 on."""
    smooth = uniform_filter1d(scores.p, SMOOTHED, axis=0) if len(scores.p) else scores.p
    snap = loudness.voice_db - loudness.floor_db >= SNAP_FROM_DB
    heard = []
    for place, number in _peaks(smooth):
        word = model.words[number - 1]
        start_s = max(_centre(smooth[:, number], place) * HOP_S + LEAD_S + ONSET_BIAS_S, 0.0)
        if snap:
            risen = loudness.rise_near(start_s, within_s=SNAP_WITHIN_S)
            start_s = start_s if risen is None else risen
        end_s = start_s + model.duration_s(number)
        p = float(np.clip(smooth[place, number], 0.0, 1.0))
        heard.append(Heard(Event(start_s, end_s, word.kind, word.label, p, behaviour=word.behaviour), place))
    return sorted(heard, key=lambda one: one.event.start_s)


def _centre(p: Array, place: int) -> float:
    """Return the middle of the bump around a peak, in embeddings."""
    first, last = max(place - 3, 0), min(place + 4, len(p))
    around = p[first:last]
    return float(np.sum(np.arange(first, last) * around) / np.sum(around))


def _peaks(smooth: Array) -> list[tuple[int, int]]:
    """Return (place, class) of the peaks, the most likely first, none within APART_S of a likelier one."""
    if len(smooth) < 3 or smooth.shape[1] < 2:
        return []
    best = smooth[:, 1:].max(axis=1)
    top = (best >= LEAST_CONFIDENCE) & (best >= np.roll(best, 1)) & (best >= np.roll(best, -1))
    taken: list[int] = []
    found = []
    for place in sorted(np.flatnonzero(top), key=lambda at: -best[at]):
        if all(abs(int(place) - other) * HOP_S >= APART_S for other in taken):
            taken.append(int(place))
            found.append((int(place), 1 + int(np.argmax(smooth[place, 1:]))))
    return found


def mark_talk(events: Sequence[Event], runs: Sequence[tuple[float, float]], duration_s: float) -> list[Event]:
    """Return the events, those inside a run of speech marked `in_talk`.

    runs: (start, end) of running speech, at least 1.7 s long each. Where they fill over 60 % of the recording the
    background itself is speech, and nothing is marked.
    """
    if duration_s <= 0 or sum(end - start for start, end in runs) > TALK_SHARE_LIMIT * duration_s:
        return in_time_order(events)
    return in_time_order(
        replace(event, in_talk=any(start - 0.05 <= event.start_s <= end for start, end in runs)) for event in events
    )
