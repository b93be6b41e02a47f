"""How a family wants its pack: language, paper, size of letters, unit of weight."""

from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.units import WeightUnit


class Language(StrEnum):
    """The languages that the pack speaks."""

    EN = "en"
    DE = "de"


class Paper(StrEnum):
    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True)
class PackOptions:
    """How a pack is printed. large: letters of 15 pt where others have 10.5."""

    language: Language = Language.EN
    paper: Paper = Paper.A4
    large: bool = False
    unit: WeightUnit = WeightUnit.KG


def usual_language(code: str) -> Language:
    """Return the pack's language for a workspace's: `de-at` is German; one that the pack lacks is English."""
    short = code.lower().replace("_", "-").split("-")[0]
    return Language(short) if short in set(Language) else Language.EN
