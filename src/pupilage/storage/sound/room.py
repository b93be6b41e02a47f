"""A session's recording, listened to for how well it can be read."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pupilage.core.recordings.noises.quality import Quality, QualityMeter
from pupilage.storage.sound.decoding import decode, read_track
from pupilage.storage.sound.home import speech_meter


@dataclass(frozen=True)
class Room:
    """How well a recording can be read, and where something begins to sound: a tap is put to the nearest of these."""

    quality: Quality
    onsets_s: tuple[float, ...]


def listen_to_room(path: Path, told: Callable[[float], None]) -> Room:
    """Return what is known of a recording before a word is looked for. Raises InvalidInput as `decode` does."""
    length_s = read_track(path).duration_s or 0.0
    quality, speech = QualityMeter(), speech_meter()
    for block in decode(path):
        quality.feed(block.sound)
        if speech is not None:
            speech.feed(block.sound)
        if length_s:
            told(min(block.start_s / length_s, 1.0))
    judged = quality.finish(None if speech is None else speech.runs())
    return Room(judged, tuple(round(start_s, 2) for start_s, _ in quality.levels.runs()))
