"""A session's recording, listened to for how well it can be read."""

from collections.abc import Callable
from pathlib import Path

from pupilage.core.recordings.noises.quality import Quality, QualityMeter
from pupilage.storage.sound.decoding import decode, read_track
from pupilage.storage.sound.home import speech_meter


def listen_to_room(path: Path, told: Callable[[float], None]) -> Quality:
    """Return how well a recording can be read. Raises InvalidInput as `decode` does."""
    length_s = read_track(path).duration_s or 0.0
    quality, speech = QualityMeter(), speech_meter()
    for block in decode(path):
        quality.feed(block.sound)
        if speech is not None:
            speech.feed(block.sound)
        if length_s:
            told(min(block.start_s / length_s, 1.0))
    return quality.finish(None if speech is None else speech.runs())
