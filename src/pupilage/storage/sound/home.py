"""A time alone, listened to from its first second to its last: barks, whines, and how well they can be told."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event
from pupilage.core.recordings.noises.bursts import HOP_S
from pupilage.core.recordings.noises.dogs import DogDetector, Embed
from pupilage.core.recordings.noises.event_model import EventModel, ModelDetector
from pupilage.core.recordings.noises.home_alone import HomeAlone, home_background, read_home_alone
from pupilage.core.recordings.noises.logistic import Logistic
from pupilage.core.recordings.noises.quality import Quality, QualityMeter
from pupilage.core.recordings.noises.speech_runs import Run
from pupilage.storage.sound.decoding import decode, read_track
from pupilage.storage.sound.speech import SpeechMeter

HEARD_S, ROUND_S = 9.6, 28.8
"""Hours of a home are listened to for speech in a third of their seconds: its share is wanted, not each word."""


@dataclass(frozen=True)
class Home:
    """What was heard in a time alone: events, the figures from the first second to the last, and the quality."""

    events: tuple[Event, ...]
    alone: HomeAlone
    quality: Quality


def listen_to_home(
    path: Path,
    told: Callable[[float], None],
    *,
    embed: Embed | None = None,
    weights: Logistic | None = None,
    model: EventModel | None = None,
) -> Home:
    """Return what was heard, in memory that does not grow with the hours but for the levels (9 MB in three hours).

    told: takes how much is done, 0 to 1. embed, weights: see `DogDetector`; by bands alone unless asked otherwise:
    the embedding takes other people's speech for dogs (docs/science/recordings-noises.md). model: a
    sound-event model of the user's, which then says what is a bark or a whine in their place.
    Raises InvalidInput as `decode` does.
    """
    length_s = read_track(path).duration_s or 0.0
    dogs = DogDetector(embed, weights=weights) if model is None else ModelDetector(model)
    quality, speech = QualityMeter(), speech_meter(every=HEARD_S, of=ROUND_S)
    events: list[Event] = []
    for block in decode(path):
        quality.feed(block.sound)
        if speech is not None:
            speech.feed(block.sound)
        events += dogs.feed(block.sound)
        if length_s:
            told(min(block.start_s / length_s, 1.0))
    events += dogs.finish()
    runs: list[Run] | None = None if speech is None else speech.runs()
    judged = quality.finish(runs)
    background = home_background(
        quality.levels.level_db,
        quality.levels.runs() if runs is None else runs,
        events,
        step_s=HOP_S,
        listened=None if speech is None else speech.listened(),
    )
    alone = read_home_alone(events, door_s=0.0, end_s=judged.duration_s, background=background)
    return Home(tuple(events), alone, judged)


def speech_meter(*, every: float = 1.0, of: float = 1.0) -> SpeechMeter | None:
    """Return the model's meter, None where its package is missing: energy does in its place."""
    try:
        return SpeechMeter(every=every, of=of)
    except InvalidInput:
        return None
