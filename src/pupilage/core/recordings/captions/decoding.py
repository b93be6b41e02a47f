"""From a caption file's bytes to its text: which encoding, and whether it is text at all.

WebVTT is UTF-8 by its standard; SRT and transcripts have none, so the bytes are looked at.
"""

from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput

MAX_BYTES = 20 * 1024 * 1024
MOST_STRANGE = 0.02
"""Share of characters that no text holds, above which a file is no text."""
REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
_LINE_END = {"\n", "\t", "\f", "\v", "\u0085"}


@dataclass(frozen=True)
class Decoded:
    """Text with line ends made LF, the encoding's name, and how many places could not be read."""

    text: str
    encoding: str
    n_unreadable: int


def decode(content: bytes) -> Decoded:
    """Return the text of a caption file, line ends made LF and NUL made U+FFFD (WebVTT, section 6.1).

    Encodings: a byte-order mark decides; else UTF-16 by where its zero bytes stand; else UTF-8, also with a few
    damaged places; else Windows-1252.
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
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return "UTF-16", content.decode("utf-16", "replace")
    wide = _utf16_without_mark(content[:4096])
    if wide:
        return "UTF-16", content.decode(wide, "replace")
    try:
        return "UTF-8", content.decode("utf-8")
    except UnicodeDecodeError:
        return _utf8_with_damage_or_cp1252(content)


def _utf16_without_mark(sample: bytes) -> str:
    """Return the codec when zero bytes stand at one parity only, as digits, spaces and arrows in UTF-16 leave them."""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if even + odd < 0.1 * len(sample) or min(even, odd) > 0.1 * max(even, odd):
        return ""
    return "utf-16-le" if odd > even else "utf-16-be"


def _utf8_with_damage_or_cp1252(content: bytes) -> tuple[str, str]:
    """Tell one torn letter in UTF-8 from a file of another encoding: the former has more whole letters than torn."""
    text = content.decode("utf-8", "replace")
    torn = text.count(REPLACEMENT)
    whole = sum(1 for letter in text if letter > "\x7f") - torn
    if whole > torn:
        return "UTF-8", text
    return "Windows-1252", content.decode("cp1252", "replace")


def _n_strange(text: str) -> int:
    return sum(1 for letter in text if (letter < " " and letter not in _LINE_END) or letter in (REPLACEMENT, "\x7f"))
