"""Plain transcripts with times: `[0:27] Sit.`, `00:27 Sit.`, `(1:02:03) Sit.`, a time on a line of its own."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from pupilage.core.recordings.captions.blocks import Caption
from pupilage.core.recordings.captions.spreading import words_of
from pupilage.core.recordings.captions.times import TIME, seconds

LETTER_S = 0.1
"""A transcript names no ends: a stretch lasts until the next, but no longer than this for each letter. Common
practice (speech runs at 12 to 20 letters a second, and slower to a dog), no source."""
_TO = r"[^\S\n]*(?:-{1,3}>|[-–—,])[^\S\n]*"
_BRACKETED = rf"[\[(][^\S\n]*(?P<start1>{TIME})(?:{_TO}(?P<end1>{TIME}))?[^\S\n]*[\])]"
_LEADING = rf"^[^\S\n]*(?P<start2>{TIME})(?![\d:.]\d)(?:{_TO}(?P<end2>{TIME}))?(?=\s|$|[-–—:.,])[^\S\n]*[-–—:.,]?"
_STAMP = re.compile(rf"{_BRACKETED}|{_LEADING}", re.MULTILINE)
_SPEAKER = re.compile(r"^\s*(?:[-–>]+\s*)?(?P<name>[^\W\d_][^\s:]*(?: [^\s:]+){0,2}):\s")


@dataclass
class Transcript:
    """The timed stretches of a transcript as captions, who speaks in each, and what stood before the first time."""

    captions: list[Caption] = field(default_factory=list)
    speakers: list[str] = field(default_factory=list)
    untimed_words: int = 0
    backwards: int = 0


@dataclass(frozen=True)
class _Stretch:
    start_s: float
    end_s: float | None
    text: str


def split_transcript(text: str) -> Transcript | None:
    """Return the stretches of a transcript, or None when it holds no time at all.

    A name and a colon at the head of a stretch is the speaker when it occurs at least twice; a word before a colon
    that occurs once stays a word.
    """
    stamps = list(_STAMP.finditer(text))
    if not stamps:
        return None
    found = Transcript(untimed_words=len(words_of(text[: stamps[0].start()])))
    stretches = list(_stretches(text, stamps))
    names = _names(stretches)
    ordered = sorted(stretches, key=lambda stretch: stretch.start_s)
    found.backwards = sum(a.start_s > b.start_s for a, b in pairwise(stretches))
    for stretch, until_s in zip(ordered, [*(s.start_s for s in ordered[1:]), None], strict=True):
        speaker, said = _speaker_of(stretch.text, names)
        found.captions.append(Caption(stretch.start_s, _end_s(stretch, said, until_s), tuple(said.split("\n"))))
        found.speakers.append(speaker)
    return found


def _stretches(text: str, stamps: Sequence[re.Match[str]]) -> Iterable[_Stretch]:
    for stamp, following in zip(stamps, [*stamps[1:], None], strict=True):
        end = stamp["end1"] or stamp["end2"]
        said = text[stamp.end() : following.start() if following else len(text)]
        yield _Stretch(seconds(stamp["start1"] or stamp["start2"]), seconds(end) if end else None, said.strip())


def _names(stretches: Iterable[_Stretch]) -> set[str]:
    heads = [found["name"] for stretch in stretches if (found := _SPEAKER.match(stretch.text + " "))]
    return {name for name in heads if heads.count(name) > 1}


def _speaker_of(text: str, names: set[str]) -> tuple[str, str]:
    found = _SPEAKER.match(text + " ")
    if found is None or found["name"] not in names:
        return "", text
    return found["name"], text[found.end() :]


def _end_s(stretch: _Stretch, said: str, until_s: float | None) -> float:
    by_letters_s = stretch.start_s + LETTER_S * max(1, len(said))
    given_s = stretch.end_s if stretch.end_s is not None else by_letters_s
    until_s = given_s if until_s is None or stretch.end_s is not None else min(until_s, by_letters_s)
    return max(stretch.start_s, until_s)
