"""From a caption file's bytes to its text: which encoding, and whether it is text at all.

WebVTT is UTF-8 by its standard; SRT and transcripts have none, so the bytes are looked at.
"""

import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput

MAX_BYTES = 20 * 1024 * 1024
MOST_STRANGE = 0.02
"""Share of characters that no text holds, above which a file is no text."""
REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
_STRANGE = re.compile(f"[\0-\x08\x0e-\x1f\x7f{REPLACEMENT}]")


@dataclass(frozen=True)
class Decoded:
    """Text with line ends made LF, the encoding's name, and how many places could not be read."""

    text: str
    encoding: str
    n_unreadable: int


def decode(content: bytes) -> Decoded:
    """Return the text of a caption file, line ends made LF and NUL made U+FFFD (WebVTT, section 6.1).

    Encodings: a byte-order mark decides; else UTF-16 by the side its zero bytes stand on, as digits, spaces and arrows
    leave them; else UTF-8, also with a few damaged places; else Windows-1252.
    Raises: InvalidInput for a file that is empty, over 20 MiB, or no text.
    """
    if len(content) > MAX_BYTES:
        raise InvalidInput.of(
            "file", "The file is over {most} MiB, too large for captions; split it.", most=MAX_BYTES // 2**20
        )
    if not content.strip(b" \t\r\n\0" + BOM_UTF8):
        raise InvalidInput.of("file", "The file is empty; choose the caption file that belongs to the recording.")
    encoding, text = _text_and_encoding(content)
    unreadable = text.count(REPLACEMENT)
    text = text.replace("\0", REPLACEMENT).replace("\r\n", "\n").replace("\r", "\n")
    if _n_strange(text) > max(3, MOST_STRANGE * len(text)):
        raise InvalidInput.of(
            "file", "This file is no text; choose captions (WebVTT or SRT) or a transcript with times."
        )
    return Decoded(text, encoding, unreadable)


def _text_and_encoding(content: bytes) -> tuple[str, str]:
    if content.startswith(BOM_UTF8):
        return "UTF-8 with a byte-order mark", content.decode("utf-8-sig", "replace")
    marked = content.startswith((BOM_UTF16_LE, BOM_UTF16_BE))
    even, odd = content[0::2].count(0), content[1::2].count(0)
    if even + odd > 0.3 * len(content) and min(even, odd) > 0.02 * len(content):
        return "UTF-16", _torn_utf16(content[2:] if marked else content)
    if marked:
        return "UTF-16", content.decode("utf-16", "replace")
    if even + odd > 0.05 * len(content) and min(even, odd) <= 0.1 * max(even, odd):
        return "UTF-16", content.decode("utf-16-le" if odd > even else "utf-16-be", "replace")
    try:
        return "UTF-8", content.decode("utf-8")
    except UnicodeDecodeError:
        return _utf8_with_damage_or_cp1252(content)


def _torn_utf16(content: bytes) -> str:
    """Return the text of a file that lost single bytes, so that its zero bytes change sides: without them."""
    return content.replace(b"\0", b"").decode("cp1252", "replace") + REPLACEMENT


def _utf8_with_damage_or_cp1252(content: bytes) -> tuple[str, str]:
    """Tell one torn letter in UTF-8 from a file of another encoding: the former has more whole letters than torn."""
    text = content.decode("utf-8", "replace")
    torn = text.count(REPLACEMENT)
    whole = sum(1 for letter in text if letter > "\x7f") - torn
    if whole > torn:
        return "UTF-8", text
    return "Windows-1252", content.decode("cp1252", "replace")


def _n_strange(text: str) -> int:
    """Return how many characters no text holds."""
    return len(_STRANGE.findall(text))
