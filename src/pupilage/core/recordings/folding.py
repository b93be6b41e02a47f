"""How words are compared: whole, and without regard to case, accents, apostrophes and hyphens."""

import re
import unicodedata

_APOSTROPHES = re.compile("['’‘ʼ`´]")
_JOINERS = re.compile("[-\N{HYPHEN}\N{NON-BREAKING HYPHEN}_]+")
_MARKS = re.compile("[\u0300-\u036f\u0591-\u05c7\u064b-\u0652]")
_UNSPACED = re.compile("[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3040-\u30ff\u3400-\u9fff\uf900-\ufaff]")


def folded(text: str) -> tuple[str, ...]:
    """Return the words of a text as they are compared: without case, accents, apostrophes and hyphens."""
    return tuple(key_of(part) for part in parts_of(text))


def parts_of(text: str) -> list[str]:
    """Return the parts of a written word or phrase, case folded, letters of scripts without spaces one by one."""
    plain = _APOSTROPHES.sub("", unicodedata.normalize("NFC", text).casefold())
    parts: list[str] = []
    for part in re.split(r"\s+", _JOINERS.sub(" ", plain)):
        stripped = part.strip("".join({c for c in part if not (c.isalnum() or unicodedata.category(c)[0] == "M")}))
        parts += list(stripped) if _UNSPACED.search(stripped) else [stripped] if stripped else []
    return parts


def key_of(part: str) -> str:
    """Return a part without accents, except where a mark makes another letter."""
    if _UNSPACED.search(part):
        return part
    return _MARKS.sub("", unicodedata.normalize("NFKD", part))


def is_unspaced(part: str) -> bool:
    """Tell whether the part is of a script that puts no spaces between words (Chinese, Japanese, Thai, …)."""
    return _UNSPACED.match(part) is not None
