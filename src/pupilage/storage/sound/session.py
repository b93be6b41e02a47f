"""A session's recording, listened to once: how well it can be read, and what each person says in it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pupilage.core.recordings.events import Event
from pupilage.core.recordings.noises.clicks import ClickDetector, ClickSound
from pupilage.core.recordings.noises.quality import Quality, QualityMeter
from pupilage.core.recordings.noises.whistles import WhistleDetector, WhistleSound
from pupilage.core.recordings.words.loudness import Loudness, levels, talk_runs
from pupilage.core.recordings.words.model import Scores, WordModel, score
from pupilage.core.recordings.words.peaks import find_words, mark_talk
from pupilage.storage.sound.decoding import decode, read_track
from pupilage.storage.sound.embedding import speech_embedding
from pupilage.storage.sound.home import speech_meter

NOISE_RATE_HZ = 32_000
FIRST_SHARE = 0.8
"""How much is done when the words are heard; clicks and whistles need the sound once more, at twice the rate."""


@dataclass(frozen=True)
class Ears:
    """What one person's sounds are heard by. A word's, a click's and a whistle's label is what the owner calls it."""

    model: WordModel | None = None
    clicks: dict[str, ClickSound] = field(default_factory=dict)
    whistles: tuple[WhistleSound, ...] = ()

    @property
    def hears_noises(self) -> bool:
        return bool(self.clicks or self.whistles)


@dataclass(frozen=True)
class HeardThing:
    """One event, and for a word the numbers that it was heard by."""

    event: Event
    stack: NDArray[np.float16] | None = None


@dataclass(frozen=True)
class Session:
    """What was heard: for each person what is theirs. onsets_s: where something begins to sound."""

    heard: tuple[tuple[HeardThing, ...], ...]
    quality: Quality
    onsets_s: tuple[float, ...]


def listen_to_session(path: Path, ears: Sequence[Ears], told: Callable[[float], None]) -> Session:
    """Return what was heard of each person's sounds. Raises InvalidInput as `decode` and `speech_embedding` do."""
    length_s = read_track(path).duration_s or 0.0
    two = any(one.hears_noises for one in ears)
    share = FIRST_SHARE if two else 1.0
    tape = _Tape(path, length_s, lambda done: told(share * done))
    scores = _scores(tape, [one.model for one in ears])
    words = [_words(one.model, found, tape) for one, found in zip(ears, scores, strict=True)]
    noises = _noises(path, ears, lambda done: told(share + (1.0 - share) * done), length_s) if two else [[]] * len(ears)
    judged = tape.quality.finish(None if tape.speech is None else tape.speech.runs())
    onsets = tuple(round(start_s, 2) for start_s, _ in tape.quality.levels.runs())
    return Session(tuple((*a, *b) for a, b in zip(words, noises, strict=True)), judged, onsets)


class _Tape:
    """Plays a recording once, block by block, and takes note of how it sounds."""

    def __init__(self, path: Path, length_s: float, told: Callable[[float], None]) -> None:
        self.path, self.length_s, self.told = path, length_s, told
        self.quality, self.speech = QualityMeter(), speech_meter()
        self.levels: list[NDArray[np.float32]] = []
        self.end_s = 0.0

    def blocks(self) -> Iterator[object]:
        for block in decode(self.path):
            self.quality.feed(block.sound)
            if self.speech is not None:
                self.speech.feed(block.sound)
            self.levels.append(levels(block.sound))
            self.end_s = block.start_s + len(block.sound) / 16_000
            if self.length_s:
                self.told(min(block.start_s / self.length_s, 1.0))
            yield block


def _scores(tape: _Tape, models: Sequence[WordModel | None]) -> list[Scores | None]:
    """Return what each model makes of the recording; with several, its embeddings are held in half precision."""
    asked = [model for model in models if model is not None]
    if not asked:
        for _ in tape.blocks():
            pass
        return [None for _ in models]
    stream = speech_embedding().stream(tape.blocks())  # type: ignore[arg-type]
    if len(asked) == 1:
        return [None if model is None else score(model, stream) for model in models]
    held = [piece.astype(np.float16) for piece in stream]
    return [None if model is None else score(model, (piece.astype(np.float32) for piece in held)) for model in models]


def _words(model: WordModel | None, scores: Scores | None, tape: _Tape) -> list[HeardThing]:
    if model is None or scores is None:
        return []
    loudness = Loudness(np.concatenate(tape.levels))
    runs = talk_runs(loudness)
    return [
        HeardThing(mark_talk([one.event], runs, tape.end_s)[0], scores.near(one.place))
        for one in find_words(model, scores, loudness)
    ]


def _noises(path: Path, ears: Sequence[Ears], told: Callable[[float], None], length_s: float) -> list[list[HeardThing]]:
    """Return the clicks and whistles of each person."""
    clicks = [[(label, ClickDetector(NOISE_RATE_HZ, sound)) for label, sound in one.clicks.items()] for one in ears]
    whistles = [WhistleDetector(NOISE_RATE_HZ, one.whistles) if one.whistles else None for one in ears]
    found: list[list[HeardThing]] = [[] for _ in ears]
    for block in decode(path, rate_hz=NOISE_RATE_HZ):
        for mine, boxes, pipe in zip(found, clicks, whistles, strict=True):
            for label, box in boxes:
                mine += [HeardThing(replace(event, label=label)) for event in box.feed(block.sound)]
            mine += [HeardThing(event) for event in pipe.feed(block.sound)] if pipe else []
        if length_s:
            told(min(block.start_s / length_s, 1.0))
    for mine, boxes, pipe in zip(found, clicks, whistles, strict=True):
        for label, box in boxes:
            mine += [HeardThing(replace(event, label=label)) for event in box.finish()]
        mine += [HeardThing(event) for event in pipe.finish()] if pipe else []
    return found
