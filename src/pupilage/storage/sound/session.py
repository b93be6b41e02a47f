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
from pupilage.storage.sound.decoding import SPEECH_RATE_HZ, Block, decode_at, read_track
from pupilage.storage.sound.embedding import speech_embedding
from pupilage.storage.sound.home import speech_meter

NOISE_RATE_HZ = 32_000


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


def listen_to_session(path: Path, ears: Sequence[Ears], told: Callable[[float], None] = lambda _: None) -> Session:
    """Return what was heard of each person's sounds, the file decoded once.

    told: takes how much is done, 0 to 1. Raises InvalidInput as `decode` and `speech_embedding` do.
    """
    tape = _Tape(path, ears, told)
    scores = _scores(tape, [one.model for one in ears])
    words = [_words(one.model, found, tape) for one, found in zip(ears, scores, strict=True)]
    judged = tape.quality.finish(None if tape.speech is None else tape.speech.runs())
    onsets = tuple(round(start_s, 2) for start_s, _ in tape.quality.levels.runs())
    heard = tuple((*a, *b.finish()) for a, b in zip(words, tape.noises, strict=True))
    return Session(heard, judged, onsets)


class _Tape:
    """Plays a recording once, block by block; takes note of how it sounds, and of everybody's clicks and whistles."""

    def __init__(self, path: Path, ears: Sequence[Ears], told: Callable[[float], None]) -> None:
        self.path, self.told, self.length_s = path, told, read_track(path).duration_s or 0.0
        self.quality, self.speech = QualityMeter(), speech_meter()
        self.noises = [_Noises(one) for one in ears]
        self.levels: list[NDArray[np.float32]] = []
        self.end_s = 0.0

    def blocks(self) -> Iterator[Block]:
        """Yield the sound at 16 kHz."""
        finer = (NOISE_RATE_HZ,) if any(one.ears.hears_noises for one in self.noises) else ()
        for block, *fine in decode_at(self.path, (SPEECH_RATE_HZ, *finer)):
            self.quality.feed(block.sound)
            if self.speech is not None:
                self.speech.feed(block.sound)
            for one in fine:
                for noises in self.noises:
                    noises.feed(one.sound)
            self.levels.append(levels(block.sound))
            self.end_s = block.start_s + len(block.sound) / SPEECH_RATE_HZ
            if self.length_s:
                self.told(min(block.start_s / self.length_s, 1.0))
            yield block


class _Noises:
    """One person's clicks and whistles."""

    def __init__(self, ears: Ears) -> None:
        self.ears = ears
        self._clicks = [(label, ClickDetector(NOISE_RATE_HZ, sound)) for label, sound in ears.clicks.items()]
        self._whistles = WhistleDetector(NOISE_RATE_HZ, ears.whistles) if ears.whistles else None
        self._heard: list[Event] = []

    def feed(self, sound: NDArray[np.float32]) -> None:
        """Take a block at 32 kHz."""
        for label, clicks in self._clicks:
            self._heard += [replace(event, label=label) for event in clicks.feed(sound)]
        self._heard += self._whistles.feed(sound) if self._whistles else []

    def finish(self) -> list[HeardThing]:
        """Return all that was heard."""
        for label, clicks in self._clicks:
            self._heard += [replace(event, label=label) for event in clicks.finish()]
        self._heard += self._whistles.finish() if self._whistles else []
        return [HeardThing(event) for event in self._heard]


def _scores(tape: _Tape, models: Sequence[WordModel | None]) -> list[Scores | None]:
    """Return what each model makes of the recording; with several, its embeddings are held in half precision."""
    asked = [model for model in models if model is not None]
    if not asked:
        for _ in tape.blocks():
            pass
        return [None for _ in models]
    stream = speech_embedding().stream(tape.blocks())
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
