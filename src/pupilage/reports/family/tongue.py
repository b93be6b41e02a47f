"""The words of the family's page: those of the pack, and its own."""

from functools import cache
from importlib.resources import files

from pupilage.core.access import FamilyGuest
from pupilage.reports.pack.options import Language, usual_language
from pupilage.reports.pack.tongue import Tongue, load_words, read_po


class FamilyTongue(Tongue):
    """The pack's tongue with the page's own words, so that both call a thing by one name."""

    def __init__(self, language: Language) -> None:
        super().__init__(language)
        self.words = {**load_words(language), **load_own_words(language)}

    @classmethod
    def of_guest(cls, guest: FamilyGuest) -> "FamilyTongue":
        return cls(usual_language(guest.language))


@cache
def load_own_words(language: Language) -> dict[str, str]:
    """Return the page's own catalogue in a language; English needs none."""
    if language is Language.EN:
        return {}
    file = files("pupilage.reports.family") / "locale" / f"{language.value}.po"
    return dict(read_po(file.read_text(encoding="utf-8")))
