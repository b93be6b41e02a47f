"""Words with their times, as a caption file or a transcript gives them."""

from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.words import Sentence


class CaptionFormat(StrEnum):
    """Which kind of file it was. Stored values are fixed for good."""

    WEBVTT = "webvtt"
    SRT = "srt"
    TRANSCRIPT = "transcript"


@dataclass(frozen=True)
class Word:
    """One spoken word with the punctuation that follows it.

    start_s, end_s: seconds on the player's clock. exact: the file gives this very word its start; otherwise the start
    was spread over the caption by letters. caption: number of the caption it stood in, from 0. speaker: where named.
    """

    text: str
    start_s: float
    end_s: float
    exact: bool
    caption: int = 0
    speaker: str = ""


@dataclass(frozen=True)
class TimedText:
    """What a file holds: its words in time order, and what was odd about it, in sentences for the person."""

    format: CaptionFormat
    encoding: str
    words: tuple[Word, ...]
    warnings: tuple[Sentence, ...] = ()
