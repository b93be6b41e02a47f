"""A session as the programme's plan asks for it, before the day gives it a time."""

from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.catalogue.behaviour import Place


class Purpose(StrEnum):
    """What a planned session is for. Stored values are fixed for good."""

    TEACH = "teach"
    UPKEEP = "upkeep"
    ELSEWHERE = "elsewhere"
    """A new place or a new person, at a step that is sure at home."""
    PROBE = "probe"
    """A cold first try, measured and not trained."""


@dataclass(frozen=True)
class PlannedSession:
    """One session of a day. behaviour, step: keys; minutes, of the session itself; who, the person that cues.

    distraction: 0 to 5 (`Catalogue.distractions`); reinforcer: a name of the trainer's list, "" where none is chosen;
    pieces: rewards expected.
    """

    behaviour: str
    step: str
    purpose: Purpose
    minutes: int
    place: Place
    distraction: int = 0
    who: str = ""
    reinforcer: str = ""
    pieces: int = 0
