"""Sentences for people, made in `core` and translated at the border.

`core` knows no language setting. It makes a `Sentence` from an English template and its figures; a front end
passes its own `translate` (gettext) and prints the result. Templates are collected for translators because
`makemessages` looks for calls of `sentence` and of the errors.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from string import Formatter
from typing import Any

Figure = str | int | float


@dataclass(frozen=True)
class Sentence:
    """A template with named figures, such as `Sentence("{n} trials so far.", {"n": 3})`.

    A day stays an ISO string among the figures, so that a sentence can be kept as JSON. days_as_typed: it is told so
    too; for refusals, where a wrong year must show.
    """

    template: str
    figures: Mapping[str, Figure] = field(default_factory=dict)
    days_as_typed: bool = False

    def __str__(self) -> str:
        return self.translated(str)

    def translated(self, translate: Callable[[str], str]) -> str:
        """Return the sentence in the language of `translate`."""
        template = translate(self.template)
        writer = _Figures(translate, days_as_typed=self.days_as_typed)
        return writer.vformat(template, (), self.figures) if self.figures else template

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


_DAYS = re.compile(r"\d{4}-\d\d-\d\d(, \d{4}-\d\d-\d\d)*")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def day_in_words(day: date, translate: Callable[[str], str] = str) -> str:
    """Return a day such as `Wed 25 November`; Django's own catalogues translate the names."""
    return f"{translate(_WEEKDAYS[day.weekday()])} {day.day} {translate(_MONTHS[day.month - 1])}"


class _Figures(Formatter):
    """Writes figures as `format` does, chances (`{p:.0%}`) as `percent` does, and ISO days as `day_in_words` does."""

    def __init__(self, translate: Callable[[str], str], *, days_as_typed: bool) -> None:
        self.translate = translate
        self.days_as_typed = days_as_typed

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec == ".0%":
            return percent(float(value), self.translate)
        return str(super().format_field(value, format_spec))

    def get_value(self, key: int | str, args: Any, kwargs: Any) -> Any:
        value = super().get_value(key, args, kwargs)
        if not self.days_as_typed and isinstance(value, str) and _DAYS.fullmatch(value):
            return ", ".join(self._day(one) for one in value.split(", "))
        return value

    def _day(self, iso: str) -> str:
        try:
            return day_in_words(date.fromisoformat(iso), self.translate)
        except ValueError:
            return iso
