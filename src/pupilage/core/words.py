"""Sentences for people, made in `core` and translated at the border.

`core` knows no language setting. It makes a `Sentence` from an English template and its figures; a front end
passes its own `translate` (gettext) and prints the result. Templates are collected for translators because
`makemessages` looks for calls of `sentence` and of the errors.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from string import Formatter
from typing import Any

Figure = str | int | float


@dataclass(frozen=True)
class Sentence:
    """A template with named figures, such as `Sentence("{n} trials so far.", {"n": 3})`."""

    template: str
    figures: Mapping[str, Figure] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.translated(str)

    def translated(self, translate: Callable[[str], str]) -> str:
        """Return the sentence in the language of `translate`."""
        template = translate(self.template)
        return _Figures(translate).vformat(template, (), self.figures) if self.figures else template

    def of(self, **figures: Figure) -> "Sentence":
        """Return the same sentence with these figures."""
        return Sentence(self.template, figures)


def sentence(template: str, **figures: Figure) -> Sentence:
    """Return a sentence; the template must be a literal, so that translators find it."""
    return Sentence(template, figures)


UNBROKEN = "\N{NO-BREAK SPACE}"


def percent(p: float, translate: Callable[[str], str] = str) -> str:
    """Return a chance in whole per cent, unbroken; never 0 or 100, which no data can show."""
    if p < 0.01:
        words = sentence("under 1 %")
    elif p > 0.99:
        words = sentence("over 99 %")
    else:
        words = sentence("{n} %", n=round(100 * p))
    return words.translated(translate).replace(" ", UNBROKEN)


class _Figures(Formatter):
    """Writes figures as `format` does, and chances (`{p:.0%}`) as `percent` does."""

    def __init__(self, translate: Callable[[str], str]) -> None:
        self.translate = translate

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec == ".0%":
            return percent(float(value), self.translate)
        return str(super().format_field(value, format_spec))
