"""What one line of a caption says once its mark-up is read: pieces of text, who speaks, and word times inside it.

Source: W3C, WebVTT: The Web Video Text Tracks Format, section 6.4 (cue text parsing); SRT has no standard, its tags
are those in use. Checked in tests/external/test_webvtt_grammar.py and test_srt_habits.py.
"""

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.recordings.captions.times import seconds

_TOKEN = re.compile(
    r"<(?P<time>[\d:.,]+)>|<v(?P<voice>[.\s][^<>]*)>|(?P<shut></v\s*>)|(?P<underline></?u(?:[.\s][^>]*)?>)"
    r"|(?P<tag></?[^\s<>\d][^<>]*(?:>|$))|(?P<style>\{\\[^}]*\}?)"
)
_SOUND = re.compile(r"\[[^\[\]]*\]|\([^()]*\)|[♪♫][^♪♫]*[♪♫]?")
_READING = re.compile(r"<rt\b[^<>]*>.*?(?:</rt\s*>|(?=</ruby)|(?=<rt\b)|$)", re.DOTALL)
_UNSEEN = re.compile(
    "[\N{ZERO WIDTH SPACE}\N{LEFT-TO-RIGHT MARK}\N{RIGHT-TO-LEFT MARK}\N{ZERO WIDTH NO-BREAK SPACE}\xad]"
)


@dataclass(frozen=True)
class Piece:
    """A stretch of text. at_s: its own time, where the file gives one; underlined: it stands inside `<u>`."""

    text: str
    at_s: float | None
    speaker: str
    underlined: bool


def pieces_of(lines: Sequence[str], speaker: str = "") -> list[Piece]:
    """Return the pieces of a caption's lines, in order; a piece's time holds for what follows it in the caption."""
    found: list[Piece] = []
    at_s, underlined, text = None, False, _READING.sub("", "\n".join(lines))
    position = 0
    for token in _TOKEN.finditer(text):
        _put(found, text[position : token.start()], at_s, speaker, underlined)
        if text[position : token.start()].strip():
            at_s = None  # the time belonged to the text just taken
        position = token.end()
        if token["time"]:
            at_s = _time_or(at_s, token["time"])
        elif token["voice"]:
            speaker = _plain(_annotation(token["voice"]))
        elif token["shut"]:
            speaker = ""
        elif token["underline"]:
            underlined = not token["underline"].startswith("</")
    _put(found, text[position:], at_s, speaker, underlined)
    return found


def spoken(text: str) -> str:
    """Return the text without descriptions of sounds such as `[barking]`, `(music)` and ♪ songs ♪."""
    return _SOUND.sub(" ", text)


def plain_text(lines: Sequence[str]) -> str:
    """Return a caption's words without mark-up, white space made single."""
    return " ".join(_plain(_TOKEN.sub("", _READING.sub("", "\n".join(lines)))).split())


def _put(found: list[Piece], raw: str, at_s: float | None, speaker: str, underlined: bool) -> None:
    if raw:
        found.append(Piece(_plain(raw), at_s, speaker, underlined))


def _time_or(before_s: float | None, written: str) -> float | None:
    try:
        return seconds(written)
    except ValueError:
        return before_s


def _annotation(voice: str) -> str:
    """Return the name in `<v.loud Anna>`: classes end at the first space (section 6.4, start tag states)."""
    classes_and_name = voice.split(None, 1) if voice.startswith(".") else ["", voice]
    return " ".join("".join(classes_and_name[1:]).split())


def _plain(raw: str) -> str:
    if "&" in raw:
        raw = html.unescape(raw)
    return raw if raw.isascii() else _UNSEEN.sub("", raw).replace("\N{NO-BREAK SPACE}", " ")
