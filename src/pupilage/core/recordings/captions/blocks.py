"""From lines to captions with two times and their lines of text, by the rules of WebVTT or by the habits of SRT.

The two differ where a caption ends. WebVTT: at a line that is empty; one with a space still belongs to it. SRT: only
where the next one's times (with or without a number before them) begin, since blank lines inside are common.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from pupilage.core.recordings.captions.timed_text import CaptionFormat
from pupilage.core.recordings.captions.times import ARROW, timing_of

MAGIC = "WEBVTT"
_NO_SPEECH = re.compile(r"(NOTE([ \t].*)?|STYLE[ \t]*|REGION[ \t]*)")


@dataclass(frozen=True)
class Caption:
    """Text that is shown from one time to another, as the file has it: tags, entities and all."""

    start_s: float
    end_s: float
    lines: tuple[str, ...]


@dataclass
class Captions:
    """The captions of a file in its own order, and what was odd."""

    format: CaptionFormat
    captions: list[Caption] = field(default_factory=list)
    header: tuple[str, ...] = ()
    without_header: bool = False
    odd_times: int = 0
    unreadable_times: list[int] = field(default_factory=list)
    backwards: int = 0
    left_out: int = 0

    def add(self, timing_line: str, number: int, lines: Sequence[str]) -> None:
        """Take in one caption; `number` is that of the timing line, from 1."""
        timing = timing_of(timing_line)
        if timing is None:
            self.unreadable_times.append(number)
            return
        expects_comma = self.format is CaptionFormat.SRT
        self.odd_times += not timing.by_the_book or timing.with_comma is not expects_comma
        self.backwards += timing.end_s < timing.start_s
        self.captions.append(Caption(timing.start_s, max(timing.start_s, timing.end_s), tuple(lines)))


def has_magic(lines: Sequence[str]) -> bool:
    """Tell whether the first line is WebVTT's (section 4.1): WEBVTT alone, or a space or tab and anything after it."""
    return lines[0].rstrip() == MAGIC or lines[0].startswith((MAGIC + " ", MAGIC + "\t"))


def split_captions(lines: Sequence[str]) -> Captions | None:
    """Return the captions of a file that has lines with two times, or None where it has none and no WebVTT header."""
    if has_magic(lines):
        return _webvtt(lines, Captions(CaptionFormat.WEBVTT))
    timed = [(number, timing) for number, line in enumerate(lines) if (timing := timing_of(line))]
    if not timed:
        return None
    numbered = any(number and lines[number - 1].strip().isdecimal() for number, _ in timed)
    if numbered or any(timing.with_comma for _, timing in timed):
        return _srt(lines, Captions(CaptionFormat.SRT))
    return _webvtt(["", *lines], Captions(CaptionFormat.WEBVTT, without_header=True), first_line=0)


def _webvtt(lines: Sequence[str], found: Captions, *, first_line: int = 1) -> Captions:
    """Walk through the blocks as WebVTT section 6.1 does; a block without times is no speech."""
    at = _end_of_block(lines, 1, header=True)
    found.header = tuple(lines[1:at])
    while at < len(lines):
        if lines[at] == "":
            at += 1
            continue
        end = _end_of_block(lines, at)
        arrow = next((i for i in range(at, min(at + 2, end)) if ARROW in lines[i] or timing_of(lines[i])), None)
        if arrow is not None:
            found.add(lines[arrow], arrow + first_line, lines[arrow + 1 : end])
        elif not _NO_SPEECH.fullmatch(lines[at]):
            found.left_out += 1
        at = end
    return found


def _end_of_block(lines: Sequence[str], start: int, *, header: bool = False) -> int:
    """Return where the block ends: at an empty line, or before a line of times that is not its own."""
    seen_arrow = False
    for at in range(start, len(lines)):
        if lines[at] == "":
            return at
        if ARROW in lines[at] or timing_of(lines[at]):
            if header or seen_arrow or at > start + 1:
                return at
            seen_arrow = True
    return len(lines)


def _srt(lines: Sequence[str], found: Captions) -> Captions:
    """Part the file at its lines of times; a bare number right before one is its counter, not speech."""
    starts = [at for at, line in enumerate(lines) if ARROW in line or timing_of(line)]
    for at, following in zip(starts, [*starts[1:], len(lines)], strict=True):
        end = following
        if following < len(lines) and end - 1 > at and lines[end - 1].strip().isdecimal():
            end -= 1
        found.add(lines[at], at + 1, [line for line in lines[at + 1 : end] if line.strip()])
    return found
