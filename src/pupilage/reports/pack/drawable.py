"""Signs that no font on this machine can draw: found beforehand, written otherwise, and told in the pack.

The typesetter carries Libertinus (Latin, Greek, Cyrillic); other scripts come from the fonts of the machine. Where
none has a sign, a run of letters gives way to “[…]”, and an emoji, in an English pack, to its name in brackets: never
an empty box, and never a guess at how a name is spoken.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

LOST = "[…]"
"""What stands where letters could not be drawn."""

ALWAYS = re.compile(r"[\n\t\x20-\x7e\xa0-\xac\xae-\u017f\u0391-\u03a1\u03a3-\u03c9\u0400-\u045f–—‘’‚“”„…×÷·€−→]")
"""What the typesetter's own font draws; tests/unit/reports/test_pack_fonts.py prints them all."""

JOINERS = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufe00-\ufe0f\ufeff\U000e0000-\U000e0fff]")
"""Signs without a shape of their own: joiners, directions, variants. They are left out where their neighbours are."""

CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ue000-\uf8ff\ufffe\uffff\U000f0000-\U0010ffff]")


@dataclass(frozen=True)
class Fitted:
    """Data that can be drawn. missing: a line for each kind of sign that could not, such as `CJK: U+5C0F U+864E`."""

    data: Any
    missing: tuple[str, ...]


def fit(data: Any, can_draw: Callable[[str], bool], *, named: bool = True) -> Fitted:
    """Return data whose every text can be drawn.

    Parameters: data, of JSON's types; can_draw, whether the typesetter draws a text. It is asked once for each script,
    and for each sign of a script that has some which it cannot draw. named: whether an emoji gives way to its name,
    which Unicode has in English only; else to LOST, as letters do.
    """
    signs = {sign for text in _texts(data) for sign in text if not ALWAYS.match(sign)}
    signs = {sign for sign in signs if not JOINERS.match(sign) and not CONTROLS.match(sign)}
    missing = _missing(signs, can_draw)
    told = tuple(f"{script}: {_codes(found)}" for script, found in sorted(missing.items()))
    lost = {sign for found in missing.values() for sign in found}
    return Fitted(_changed(data, lambda text: _written(text, lost, named=named)), told)


def _missing(signs: Iterable[str], can_draw: Callable[[str], bool]) -> Mapping[str, list[str]]:
    by_script: dict[str, list[str]] = {}
    for sign in sorted(signs):
        by_script.setdefault(_script(sign), []).append(sign)
    found = {}
    for script, own in by_script.items():
        if not can_draw("".join(own)):
            lost = own if len(own) > MOST_ASKED else [sign for sign in own if not can_draw(sign)]
            found[script] = lost or own
    return found


MOST_ASKED = 40
"""A long text in a script that lacks a sign is given up as a whole, rather than asked for sign by sign."""


def _script(sign: str) -> str:
    """Return the first word of a sign's name, which for letters is the script: ARABIC, CJK, HANGUL."""
    if unicodedata.category(sign)[0] == "S":
        return "SYMBOL"
    return unicodedata.name(sign, "UNNAMED").replace("-", " ").split()[0]


def _codes(signs: list[str]) -> str:
    shown = " ".join(f"U+{ord(sign):04X}" for sign in signs[:12])
    return f"{shown} …" if len(signs) > 12 else shown


def _written(text: str, lost: set[str], *, named: bool) -> str:
    text = CONTROLS.sub(" ", text)
    if not lost.intersection(text):
        return text
    out: list[str] = []
    for sign in JOINERS.sub("", text):
        if sign not in lost:
            out.append(sign)
        elif named and unicodedata.category(sign)[0] == "S":
            out.append(f"[{unicodedata.name(sign, 'sign').lower()}]")
        elif not out or out[-1] != LOST:
            out.append(LOST)
    return "".join(out)


def _texts(data: Any) -> Iterator[str]:
    if isinstance(data, str):
        yield data
    elif isinstance(data, Mapping):
        for value in data.values():
            yield from _texts(value)
    elif isinstance(data, list):
        for value in data:
            yield from _texts(value)


def _changed(data: Any, change: Callable[[str], str]) -> Any:
    if isinstance(data, str):
        return change(data)
    if isinstance(data, Mapping):
        return {name: _changed(value, change) for name, value in data.items()}
    return [_changed(value, change) for value in data] if isinstance(data, list) else data
