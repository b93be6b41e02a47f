"""The pack's words in a language: gettext catalogues, read from their text, so that nothing has to be compiled.

What the catalogue of behaviours says is translated by its English text too. A trainer's own entries stay as written.
"""

import ast
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files

from pupilage.core.care.vet_first import split_signs
from pupilage.core.words import Figure, Sentence
from pupilage.reports.pack.options import Language


class Tongue:
    """A language. `said` translates a sentence or a text, `of` a template of the pack with its figures."""

    def __init__(self, language: Language, *, also: str = "") -> None:
        """also: a package of another printed thing, whose words are laid over the pack's."""
        self.language = language
        self.words = {**load_words(language), **(load_words(language, also) if also else {})}

    def text(self, english: str) -> str:
        """Return a text in this language, or as it is where nobody has translated it."""
        return self.words.get(english) or english

    def said(self, sentence: Sentence) -> str:
        """Return a sentence of `core` in this language."""
        return sentence.translated(self.text)

    def signs(self, stored: str) -> list[str]:
        """Return the signs that wait for a veterinarian, one line each; the trainer's own words stay as written."""
        return [one if isinstance(one, str) else self.said(one) for one in split_signs(stored)]

    def of(self, template: str, **figures: Figure) -> str:
        """Return a template of the pack; it must be a literal, so that a test finds it in every catalogue."""
        return Sentence(template, figures).translated(self.text)


@cache
def load_words(language: Language, package: str = "pupilage.reports.pack") -> Mapping[str, str]:
    """Return a language's catalogue; English needs none."""
    if language is Language.EN:
        return {}
    file = files(package) / "locale" / f"{language.value}.po"
    return dict(read_po(file.read_text(encoding="utf-8")))


def read_po(text: str) -> Iterator[tuple[str, str]]:
    """Return the messages of a PO file. Plural forms and contexts are not used here.

    Source: GNU gettext manual, "The Format of PO Files". Checked against GNU
    msgfmt in tests/external/test_pack_words.py.
    """
    parts: dict[str, str] = {}
    field = ""
    for line in [*text.splitlines(), "msgid"]:
        word, _, rest = line.strip().partition(" ")
        if word == "msgid":
            if parts.get("msgid") and parts.get("msgstr"):
                yield parts["msgid"], parts["msgstr"]
            parts = {}
        if word in ("msgid", "msgstr"):
            field, parts[word] = word, ""
            line = rest
        if line.strip().startswith('"'):
            parts[field] += ast.literal_eval(line.strip())
