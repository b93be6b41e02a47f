"""The dog on its mat while another is worked: what it was paid while it held, and what set its breaks off."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pupilage.core.words import Sentence, sentence


class BreakCause(StrEnum):
    """What set a break off, as the person saw it. Stored values are fixed for good."""

    RELEASE_WORD = "release-word"
    EXCITEMENT = "excitement"
    PUP_NEAR = "pup-near"
    SOMETHING_ELSE = "something-else"


CAUSE_WORDS: dict[BreakCause, Sentence] = {
    BreakCause.RELEASE_WORD: sentence("release word said to the other"),
    BreakCause.EXCITEMENT: sentence("excitement"),
    BreakCause.PUP_NEAR: sentence("the other came near"),
    BreakCause.SOMETHING_ELSE: sentence("something else"),
}


@dataclass(frozen=True)
class Pay:
    """Food given while a hold (the id of its start) went on. interval_s: the stretch that was being timed, or None."""

    event_id: str
    at: datetime
    hold: str
    pieces: int
    interval_s: float | None = None
