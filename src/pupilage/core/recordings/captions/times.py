"""Times as caption files write them: `00:01:02.345`, `1:02,5`, `0:27`, and the line with a caption's two."""

import re
from dataclasses import dataclass

TIME = r"-?(?:\d{1,4}:)?\d{1,3}:\d{1,2}(?:[.,]\d{1,9})?"
_PARTS = re.compile(r"(-?)(?:(\d{1,4}):)?(\d{1,3}):(\d{1,2})(?:([.,])(\d{1,9}))?")
_TIMING = re.compile(rf"\s*({TIME})\s*-{{1,3}}>\s*({TIME})(?![\d:.,])")
ARROW = "-->"


@dataclass(frozen=True)
class Timing:
    """The two times of a caption in seconds, and whether they are written as the standard wants."""

    start_s: float
    end_s: float
    with_comma: bool
    by_the_book: bool


def seconds(written: str) -> float:
    """Return the seconds of a time; one before 0 is 0. Raises ValueError when it is no time."""
    parts = _PARTS.fullmatch(written.strip())
    if parts is None:
        raise ValueError(written)
    minus, hours, minutes, whole, _, fraction = parts.groups()
    total_s = int(hours or 0) * 3600 + int(minutes) * 60 + int(whole) + float(f"0.{fraction or 0}")
    return 0.0 if minus else round(total_s, 6)


def timing_of(line: str) -> Timing | None:
    """Return the times of a line such as `00:01.000 --> 00:02.500 align:start`, or None when it is no such line.

    Wider than WebVTT section 6.3: also a comma, fractions of other than three digits, one-digit parts, a thin arrow.
    """
    found = _TIMING.match(line)
    if found is None:
        return None
    start, end = found.groups()
    return Timing(seconds(start), seconds(end), "," in start + end, _by_the_book(start) and _by_the_book(end))


def _by_the_book(written: str) -> bool:
    parts = _PARTS.fullmatch(written)
    if parts is None:
        return False
    minus, hours, minutes, whole, _, fraction = parts.groups()
    two_digits = len(minutes) == len(whole) == 2 and len(hours or "00") >= 2
    return not minus and two_digits and int(minutes) < 60 and int(whole) < 60 and len(fraction or "") == 3
