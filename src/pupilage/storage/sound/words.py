"""A recording, listened to for one person's words."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pupilage.core.recordings.words.loudness import Loudness, levels, talk_runs
from pupilage.core.recordings.words.model import WordModel, score
from pupilage.core.recordings.words.peaks import Heard, find_words, mark_talk
from pupilage.storage.sound.decoding import SPEECH_RATE_HZ, Block, decode, read_track
from pupilage.storage.sound.embedding import speech_embedding


@dataclass(frozen=True)
class HeardWords:
    """The words that were heard, in time order, and what a correction of each would be learned from, by its place."""

    heard: tuple[Heard, ...]
    stacks: Mapping[int, NDArray[np.float16]]
    duration_s: float


def listen_for_words(path: Path, model: WordModel, told: Callable[[float], None] = lambda _: None) -> HeardWords:
    """Return the words heard in a recording, those inside running talk marked `in_talk`.

    told: takes how much is done, 0 to 1. Raises InvalidInput as `decode` does, and where the model or its runtime is
    not installed.
    """
    length_s = read_track(path).duration_s or 0.0
    heard_db: list[NDArray[np.float32]] = []
    end_s = 0.0

    def passing() -> Iterator[Block]:
        nonlocal end_s
        for block in decode(path):
            end_s = block.start_s + len(block.sound) / SPEECH_RATE_HZ
            heard_db.append(levels(block.sound))
            if length_s:
                told(min(block.start_s / length_s, 1.0))
            yield block

    scores = score(model, speech_embedding().stream(passing()))
    loudness = Loudness(np.concatenate(heard_db))
    runs = talk_runs(loudness)
    marked = tuple(
        replace(one, event=mark_talk([one.event], runs, end_s)[0]) for one in find_words(model, scores, loudness)
    )
    return HeardWords(marked, {one.place: scores.near(one.place) for one in marked}, end_s)
