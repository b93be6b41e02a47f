"""What was heard in a recording, read in its captions or tapped while it played: events on the player's clock.

A detector suggests, a person confirms or rejects. Nothing suggested is data until it is confirmed.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.errors import InvalidInput, Problem


class EventKind(StrEnum):
    """What an event is. Stored values are fixed for good."""

    CUE = "cue"
    MARKER = "marker"
    RELEASE = "release"
    PRAISE = "praise"
    NAME = "name"
    IGNORE = "ignore"
    """A word that was taught only so that it is not mistaken for another."""
    CLICK = "click"
    WHISTLE = "whistle"
    BARK = "bark"
    WHINE = "whine"
    TALK = "talk"
    """A run of speech, from its first to its last word."""
    REWARD = "reward"
    """Food or play reaches the dog: tapped, or a word that always goes with it."""
    BREAK = "break"
    """The dog leaves a hold before the release: tapped, since the sound does not hold it."""
    OUTCOME = "outcome"
    """What the dog did, added by a person; the label is met, missed, helped or void."""


class EventState(StrEnum):
    """Whether a person has looked at it. Stored values are fixed for good."""

    SUGGESTED = "suggested"
    CONFIRMED = "confirmed"
    REJECTED = "rejected"


class EventSource(StrEnum):
    """Where an event comes from. Stored values are fixed for good."""

    SOUND = "sound"
    CAPTIONS = "captions"
    HAND = "hand"


class Band(StrEnum):
    """How a suggestion is shown. Stored values are fixed for good."""

    SURE = "sure"
    CHECK = "check"
    HIDDEN = "hidden"


SURE_FROM = 0.7
CHECK_FROM = 0.3
_ONE_LOWER = {Band.SURE: Band.CHECK, Band.CHECK: Band.HIDDEN, Band.HIDDEN: Band.HIDDEN}


@dataclass(frozen=True)
class Event:
    """One thing heard, read or tapped.

    start_s, end_s: seconds on the player's clock, 0 or later. label: the word, or what it is called ("sit", "yes").
    confidence: 0 to 1, or None where nothing measured it (captions). in_talk: it stands inside a run of speech.
    exact: the start is known to about 50 ms, so a latency may be computed from it. behaviour: key of the catalogue,
    for a cue. speaker: who said it, where known. id: empty until stored.
    """

    start_s: float
    end_s: float
    kind: EventKind
    label: str
    confidence: float | None = None
    state: EventState = EventState.SUGGESTED
    source: EventSource = EventSource.SOUND
    in_talk: bool = False
    exact: bool = True
    behaviour: str = ""
    speaker: str = ""
    id: str = ""

    def __post_init__(self) -> None:
        problems = list(_problems(self))
        if problems:
            raise InvalidInput(problems)

    @property
    def band(self) -> Band:
        """How it is shown while nobody has looked: by confidence, one band lower inside running talk."""
        return band_of(self.confidence, in_talk=self.in_talk)

    @property
    def is_unchecked(self) -> bool:
        return self.state is EventState.SUGGESTED


def band_of(confidence: float | None, *, in_talk: bool = False) -> Band:
    """Return the band of a confidence: sure from 0.7, to check from 0.3 or without any, hidden below.

    Inside running talk it is one band lower: most false alarms of a trainer's own voice stand there.
    """
    if confidence is None:
        band = Band.CHECK
    else:
        band = Band.SURE if confidence >= SURE_FROM else Band.CHECK if confidence >= CHECK_FROM else Band.HIDDEN
    return _ONE_LOWER[band] if in_talk else band


def in_time_order(events: Iterable[Event]) -> list[Event]:
    """Return the events as they were heard; those that start together by their end, kind and label."""
    return sorted(events, key=lambda event: (event.start_s, event.end_s, event.kind, event.label, event.id))


def _problems(event: Event) -> Iterable[Problem]:
    if not (math.isfinite(event.start_s) and event.start_s >= 0.0):
        yield Problem("start_s", "An event cannot start at {given} s; give 0 or more.", given=event.start_s)
    elif not (math.isfinite(event.end_s) and event.end_s >= event.start_s):
        yield Problem("end_s", "An event cannot end at {given} s, before its start.", given=event.end_s)
    if event.confidence is not None and not 0.0 <= event.confidence <= 1.0:
        yield Problem("confidence", "{given} is no confidence; give 0 to 1.", given=event.confidence)
