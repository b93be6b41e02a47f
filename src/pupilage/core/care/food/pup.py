"""Who is fed: age, weight, the weight expected when grown and how far that may be off."""

import math
from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.units import MAX_WEIGHT_KG, MIN_WEIGHT_KG
from pupilage.core.words import Sentence, sentence

YOUNGEST_WEEKS = 6.0
OLDEST_WEEKS = 52.0
"""Before, the dam feeds; later, most dogs are fed as grown ones. From memory; giant breeds grow on until two years."""

TOY_BELOW_KG = 4.0
"""Common practice, no source: below this grown weight a pup is a toy breed, at risk when it goes long without food."""


class AdultWeightSource(StrEnum):
    """Where the expected adult weight comes from. Stored values are fixed for good."""

    UNKNOWN = ""
    PARENTS = "parents"
    BREED = "breed"
    VETERINARIAN = "veterinarian"
    GUESS = "guess"


ERROR_OF = {
    AdultWeightSource.PARENTS: 0.20,
    AdultWeightSource.BREED: 0.20,
    AdultWeightSource.VETERINARIAN: 0.20,
    AdultWeightSource.UNKNOWN: 0.35,
    AdultWeightSource.GUESS: 0.35,
}
"""How far the expected adult weight may be off, as a fraction. Assumptions: at least a fifth, more for a guess."""


@dataclass(frozen=True)
class Pup:
    """The pup to be fed: age in weeks (6 to 52), weights in kilograms.

    adult_weight_kg: expected when grown, None where nobody can say; adult_from: who said it.
    Raises InvalidInput with everything that cannot be, at once.
    """

    age_weeks: float
    weight_kg: float
    adult_weight_kg: float | None = None
    adult_from: AdultWeightSource = AdultWeightSource.UNKNOWN

    def __post_init__(self) -> None:
        problems = pup_problems(self.age_weeks, self.weight_kg, self.adult_weight_kg)
        if problems:
            raise InvalidInput(problems)

    @property
    def fraction(self) -> float | None:
        """The fraction of the expected adult weight, 0 to 1; None without one."""
        return None if self.adult_weight_kg is None else self.weight_kg / self.adult_weight_kg

    @property
    def adult_weight_ends_kg(self) -> tuple[float, float]:
        """The lowest and the highest adult weight that its stated error allows, never below the weight now."""
        adult, error = self.adult_weight_kg or self.weight_kg, ERROR_OF[self.adult_from]
        return max(self.weight_kg, adult * (1.0 - error)), adult * (1.0 + error)

    @property
    def is_toy(self) -> bool:
        return self.adult_weight_kg is not None and self.adult_weight_kg < TOY_BELOW_KG


def fraction_sentence(pup: Pup) -> Sentence | None:
    """Return how far a pup is grown, with the error of its grown weight; None without one."""
    if pup.fraction is None:
        return None
    low_kg, high_kg = pup.adult_weight_ends_kg
    return sentence(
        "It has reached {p:.0%} of its grown weight, {low:.0%} to {high:.0%} as far as that weight is known.",
        p=pup.fraction,
        low=pup.weight_kg / high_kg,
        high=pup.weight_kg / low_kg,
    )


def pup_problems(age_weeks: float, weight_kg: float, adult_weight_kg: float | None) -> list[Problem]:
    """Return everything that is wrong with what is said of a pup."""
    problems = age_problems(age_weeks)
    given = {"weight_kg": weight_kg, "adult_weight_kg": adult_weight_kg}
    sound = {name: kg for name, kg in given.items() if kg is not None and MIN_WEIGHT_KG <= kg <= MAX_WEIGHT_KG}
    for name, kg in given.items():
        if kg is not None and name not in sound:
            problems.append(
                Problem(
                    name,
                    "{given:g} kg cannot be a dog's weight; give a number between {low:g} and {high:g} kg.",
                    given=kg,
                    low=MIN_WEIGHT_KG,
                    high=MAX_WEIGHT_KG,
                )
            )
    if len(sound) == 2 and sound["adult_weight_kg"] < sound["weight_kg"]:
        problems.append(adult_below_now(sound["adult_weight_kg"], sound["weight_kg"]))
    return problems


def adult_below_now(adult_weight_kg: float, weight_kg: float) -> Problem:
    """Return what is wrong with a grown weight below the present one."""
    return Problem(
        "adult_weight_kg",
        "The weight expected when grown ({adult:g} kg) is under the weight now ({now:g} kg); put one of them right.",
        adult=adult_weight_kg,
        now=weight_kg,
    )


def age_problems(age_weeks: float) -> list[Problem]:
    """Return what is wrong with an age for a pup's ration."""
    if not math.isfinite(age_weeks) or age_weeks < 0:
        return [Problem("age_weeks", "{given} weeks is no age; check the date of birth.", given=age_weeks)]
    if age_weeks < YOUNGEST_WEEKS:
        return [
            Problem(
                "age_weeks",
                "At {age:.0f} weeks a pup still needs its dam or a veterinarian's feeding plan; rations here begin at "
                "{youngest:.0f} weeks.",
                age=age_weeks,
                youngest=YOUNGEST_WEEKS,
            )
        ]
    if age_weeks > OLDEST_WEEKS:
        return [
            Problem(
                "age_weeks",
                "At {age:.0f} weeks the rules for growing pups no longer stand; rations here end at {oldest:.0f} "
                "weeks. Ask the veterinarian what the grown dog needs.",
                age=age_weeks,
                oldest=OLDEST_WEEKS,
            )
        ]
    return []
