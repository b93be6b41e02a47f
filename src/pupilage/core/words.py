"""Sentences for people, made in `core` and translated at the border.

`core` knows no language setting. It makes a `Sentence` from an English template and its figures; a front end
passes its own `translate` (gettext) and prints the result. Templates are collected for translators because
`makemessages` looks for calls of `sentence` and of the errors.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

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
        return template.format(**self.figures) if self.figures else template


def sentence(template: str, **figures: Figure) -> Sentence:
    """Return a sentence; the template must be a literal, so that translators find it."""
    return Sentence(template, figures)
