"""Captions that show the same words twice: rolling lines, and a sentence whose spoken word is underlined in turn.

Both are undone only where the whole file is made that way. A caption that merely says the same as the one before it is
a repeated cue, which is just what is to be counted.
"""

from collections.abc import Sequence
from itertools import pairwise

from pupilage.core.recordings.captions.blocks import Caption
from pupilage.core.recordings.captions.payload import pieces_of, plain_text

FLASH_S = 0.05
"""Automatic captions put ones of 10 ms between the others, which hold the old line only. Common practice, no source."""
_JOIN_S = 0.15


def without_rolled_lines(captions: Sequence[Caption]) -> tuple[list[Caption], bool]:
    """Return the captions without the lines that the one before already showed, and whether the file rolls.

    It rolls when more than half of its captions start with the last lines of the one before and add to them, or only
    flash what was there. Mere repeats count for nothing here: ten times "Sit" is ten cues.
    """
    if not captions:
        return [], False
    plain = [tuple(plain_text([line]) for line in caption.lines) for caption in captions]
    carried = [0]
    for (before, shown), (after, lines) in pairwise(zip(captions, plain, strict=True)):
        n = _carried(shown, lines, flash=after.end_s - after.start_s <= FLASH_S)
        adjoins = after.start_s - before.end_s <= _JOIN_S
        carried.append(n if adjoins or any(lines[n:]) else 0)
    if not _rolls(captions, plain, carried):
        return list(captions), False
    return [
        Caption(caption.start_s, caption.end_s, caption.lines[n:]) for caption, n in zip(captions, carried, strict=True)
    ], True


def with_underlined_words_only(captions: Sequence[Caption]) -> tuple[list[Caption], bool]:
    """Return the captions with their underlined word alone, and whether the file moves an underline along.

    It does when more than half of its captions underline a part of what they say, and most of these say the same as a
    neighbour. A caption without an underline that says the same as a neighbour only fills a pause: it is not counted
    in that, and goes.
    """
    if not any("<u" in line for caption in captions for line in caption.lines):
        return list(captions), False
    read = [pieces_of(caption.lines) for caption in captions]
    plain = [plain_text(caption.lines) for caption in captions]
    marked = [" ".join("".join(p.text for p in pieces if p.underlined).split()) for pieces in read]
    beside = [plain[i] in (*plain[max(0, i - 1) : i], *plain[i + 1 : i + 2]) for i in range(len(plain))]
    moving = [bool(word) and word != text for word, text in zip(marked, plain, strict=True)]
    fillers = [same and not word for word, same in zip(marked, beside, strict=True)]
    n_moving, n_same = sum(moving), sum(m and b for m, b in zip(moving, beside, strict=True))
    if 2 * n_moving <= len(captions) - sum(fillers) or 2 * n_same < n_moving:
        return list(captions), False
    kept = [
        Caption(caption.start_s, caption.end_s, (word,) if word else caption.lines)
        for caption, word, filler in zip(captions, marked, fillers, strict=True)
        if not filler
    ]
    return kept, True


def _carried(before: Sequence[str], after: Sequence[str], *, flash: bool) -> int:
    """Return how many first lines of `after` the one before already showed; all of them only for a flash."""
    shown = [line for line in before if line]
    for n in range(len(after) if flash else len(after) - 1, 0, -1):
        lead = [line for line in after[:n] if line]
        if lead and shown[-len(lead) :] == lead:
            return n
    return 0


def _rolls(captions: Sequence[Caption], plain: Sequence[Sequence[str]], carried: Sequence[int]) -> bool:
    adds = flashes = 0
    for caption, lines, n in zip(captions, plain, carried, strict=True):
        adds += bool(n and any(lines[n:]))
        flashes += bool(n) and caption.end_s - caption.start_s <= FLASH_S
    return adds >= 2 and 2 * (adds + flashes) > len(captions) - 1
