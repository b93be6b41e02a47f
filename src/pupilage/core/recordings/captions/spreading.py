"""From captions to words with times: their own where the file gives them, else spread over the caption by letters."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from pupilage.core.recordings.captions.blocks import Caption
from pupilage.core.recordings.captions.payload import Piece, pieces_of, spoken
from pupilage.core.recordings.captions.timed_text import Word

SHORT_CAPTION_S = 1.0
"""The first word of a caption up to this long counts as having its own start; in a longer one it may come late."""
_STOPS = r"\s—–…,;:/!?\"“”„«»()\[\]{}。、！？，；：·¡¿♪♫|"
_WORD = re.compile(rf"[^{_STOPS}]+[^\S\n]?[—–…,;:/!?\"”»)\]。、！？，；：]*")


@dataclass
class Spread:
    """The words of a file, and how many word times were outside their caption or went backwards."""

    words: list[Word] = field(default_factory=list)
    bad_word_times: int = 0


@dataclass
class _Stretch:
    """Text from one time to the next, by who says it. own: the time is the first word's own."""

    start_s: float
    own: bool
    said: list[tuple[str, str]] = field(default_factory=list)

    def add(self, piece: Piece) -> None:
        """Take in a piece; mark-up inside a word does not part it."""
        if self.said and self.said[-1][1] == piece.speaker:
            self.said[-1] = (self.said[-1][0] + piece.text, piece.speaker)
        else:
            self.said.append((piece.text, piece.speaker))

    def words(self) -> list[tuple[str, str]]:
        return [(word, speaker) for text, speaker in self.said for word in words_of(spoken(text))]


def spread_words(captions: Sequence[Caption], *, speakers: Sequence[str] = ()) -> Spread:
    """Return the words of the captions in time order.

    A time inside a caption holds for the word that follows it, if it lies within the caption and after the one
    before it; the words up to the next time are spread between the two by their letters and are not exact.
    speakers: who speaks in each caption, where that stands outside the text.
    """
    spread = Spread()
    for number, caption in enumerate(captions):
        pieces = pieces_of(caption.lines, speakers[number] if speakers else "")
        stretches = _stretches(caption, pieces, spread)
        ends = [*(stretch.start_s for stretch in stretches[1:]), caption.end_s]
        for stretch, end_s in zip(stretches, ends, strict=True):
            spread.words.extend(_spread(stretch, end_s, number))
    spread.words.sort(key=lambda word: word.start_s)
    return spread


def words_of(text: str) -> list[str]:
    """Return the words of a text, each with the punctuation that follows it."""
    found = (word.strip() for word in _WORD.findall(_with_dots_kept(text)))
    return [word for word in found if any(letter.isalnum() for letter in word)]


def _with_dots_kept(text: str) -> str:
    """Make a run of dots one sign, so that `sit...good` is two words and `3.5` one."""
    return re.sub(r"\.{2,}", "… ", text)


def _stretches(caption: Caption, pieces: Iterable[Piece], spread: Spread) -> list[_Stretch]:
    short = caption.end_s - caption.start_s <= SHORT_CAPTION_S
    found = [_Stretch(caption.start_s, own=short)]
    timed = False
    for piece in pieces:
        if piece.at_s is not None and piece.at_s != found[-1].start_s:
            if found[-1].start_s <= piece.at_s <= caption.end_s:
                found.append(_Stretch(piece.at_s, own=True))
                timed = True
            else:
                spread.bad_word_times += 1
        elif piece.at_s is not None:
            found[-1].own = timed = True
        found[-1].add(piece)
    found[0].own = found[0].own or timed
    return found


def _spread(stretch: _Stretch, end_s: float, caption: int) -> Iterable[Word]:
    words = stretch.words()
    letters = [max(1, len(word.strip("…,;:/!?—–.")) + 1) for word, _ in words]
    each_s = (end_s - stretch.start_s) / sum(letters) if letters else 0.0
    at_s = stretch.start_s
    for i, ((word, speaker), n) in enumerate(zip(words, letters, strict=True)):
        until_s = end_s if i == len(letters) - 1 else min(end_s, at_s + n * each_s)
        yield Word(word, at_s, until_s, stretch.own and i == 0, caption, speaker)
        at_s = until_s
