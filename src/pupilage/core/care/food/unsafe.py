"""Ingredients that must not be fed, found by their words in a name or a list of ingredients.

English words only, our own list: what is not found here is not thereby safe, and no text says that it is.
"""

import re
import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from pupilage.core.words import Sentence, sentence

NOTHING_FOUND = sentence(
    "None of the words that Pupilage knows stands there. That is no all-clear: it knows English words only, and labels "
    "leave things out."
)


class Level(StrEnum):
    """How a finding is to be taken. Stored values are fixed for good."""

    NEVER = "never"
    ASK = "ask"
    AMOUNT = "amount"


@dataclass(frozen=True)
class UnsafeFood:
    """An entry of data/unsafe.toml: name and why are texts for people, in the catalogue's language."""

    key: str
    level: Level
    name: str
    words: tuple[str, ...]
    why: str

    @property
    def pattern(self) -> re.Pattern[str]:
        words = "|".join(re.escape(word).replace(r"\ ", r"[\s-]+") for word in self.words)
        return re.compile(rf"(?<![^\W_])(?:{words})(?:e?s)?(?![^\W_])", re.IGNORECASE)


@dataclass(frozen=True)
class Finding:
    """An unsafe food that a text speaks of, and the words that were found."""

    food: UnsafeFood
    found: tuple[str, ...]


@cache
def list_unsafe_foods() -> tuple[UnsafeFood, ...]:
    """Return the list beside this module; read once in a process."""
    text = (files("pupilage.core.care.food") / "data" / "unsafe.toml").read_text(encoding="utf-8")
    return tuple(
        UnsafeFood(one["key"], Level(one["level"]), one["name"], tuple(one["words"]), one["why"])
        for one in tomllib.loads(text)["unsafe"]
    )


def find_unsafe(text: str) -> tuple[Finding, ...]:
    """Return what a name or a list of ingredients speaks of that must not be fed, what is never fed first.

    “No onion” is found too: a person reads it and decides.
    """
    found = []
    for food in list_unsafe_foods():
        words = tuple(dict.fromkeys(match.group().lower() for match in food.pattern.finditer(text)))
        if words:
            found.append(Finding(food, words))
    return tuple(sorted(found, key=lambda one: list(Level).index(one.food.level)))


def is_unsafe(text: str) -> bool:
    """Return whether a text speaks of something that is never fed."""
    return any(one.food.level is Level.NEVER for one in find_unsafe(text))


def finding_sentence(finding: Finding) -> Sentence:
    """Return a finding in words."""
    words = ", ".join(finding.found)
    match finding.food.level:
        case Level.NEVER:
            return sentence("Do not feed this: “{words}” stands there ({name}). {why}", words=words,
                            name=finding.food.name, why=finding.food.why)  # fmt: skip
        case Level.ASK:
            return sentence("Look first: “{words}” stands there. {why}", words=words, why=finding.food.why)
        case Level.AMOUNT:
            return sentence("Only a little: “{words}” stands there. {why}", words=words, why=finding.food.why)
