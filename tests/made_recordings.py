"""A session's sound and what a reader would say of it, drawn from a seed: tones for words, and planned mistakes.

The shares of sure, hollow and hidden suggestions are round planning figures near the project's own measurements
of a speech embedding (planning figures, not of this test): of the true events `p_hollow` are hollow and `p_missed` are
hidden; false ones are drawn in talk, `per_minute` a minute.
"""

import io
import random
import wave
from array import array
from dataclasses import dataclass
from math import pi, sin

from pupilage.core.recordings.events import Event, EventKind

RATE = 8000


@dataclass(frozen=True)
class Mistakes:
    """How a reader errs. per_minute: false suggestions a minute, most of them inside talk."""

    p_hollow: float = 0.12
    p_missed: float = 0.06
    per_minute: float = 0.8


def made_events(duration_s: float, *, seed: int = 6, mistakes: Mistakes | None = None) -> list[Event]:
    """Return what a reader suggests of a session with a try every 14 s or so, a quarter of the cues repeated."""
    chance, errs = random.Random(seed), mistakes or Mistakes()
    events, at_s = [], 4.0
    while at_s < duration_s - 10.0:
        word = chance.choice(("sit", "down", "hand-target"))
        for _ in range(2 if chance.random() < 0.25 else 1):
            events.append(_heard(chance, errs, at_s, EventKind.CUE, word))
            at_s += chance.uniform(1.4, 2.4)
        if chance.random() < 0.85:
            events.append(_heard(chance, errs, at_s, EventKind.MARKER, "yes"))
        at_s += chance.uniform(6.0, 18.0)
    for _ in range(round(errs.per_minute * duration_s / 60.0)):
        start_s, kind = chance.uniform(0.0, duration_s - 1.0), chance.choice((EventKind.CUE, EventKind.MARKER))
        word = "yes" if kind is EventKind.MARKER else chance.choice(("sit", "down"))
        events.append(_event(start_s, kind, word, chance.uniform(0.2, 0.9), in_talk=chance.random() < 0.75))
    return sorted(events, key=lambda event: event.start_s)


def _heard(chance: random.Random, errs: Mistakes, at_s: float, kind: EventKind, word: str) -> Event:
    roll = chance.random()
    low, high = (
        (0.1, 0.29) if roll < errs.p_missed else (0.3, 0.69) if roll < errs.p_missed + errs.p_hollow else (0.7, 1)
    )
    return _event(at_s, kind, word, chance.uniform(low, high))


def _event(start_s: float, kind: EventKind, word: str, confidence: float, *, in_talk: bool = False) -> Event:
    behaviour = word if kind is EventKind.CUE else ""
    return Event(
        round(start_s, 3),
        round(start_s + 0.4, 3),
        kind,
        word,
        round(confidence, 3),
        in_talk=in_talk,
        behaviour=behaviour,
    )


def made_wav(events: list[Event], duration_s: float) -> bytes:
    """Return a WAV file in which a tone sounds at each event: a browser plays it without any codec."""
    samples = array("h", bytes(2 * round(RATE * duration_s)))
    for event in events:
        first, pitch = round(RATE * event.start_s), 300 if event.kind is EventKind.CUE else 700
        for n in range(min(round(0.3 * RATE), len(samples) - first)):
            samples[first + n] = round(9000 * sin(2 * pi * pitch * n / RATE))
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(samples.tobytes())
    return out.getvalue()
