"""From a food's label to kcal per 100 g: as printed, or from its analysis."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum

from pupilage.core.care.food.energy import KJ_PER_KCAL
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.words import Sentence, sentence

MAX_KCAL_PER_100G = 900.0
"""Pure fat has about 900 kcal per 100 g (9 kcal a gram, the general Atwater factor)."""

GROWTH_KCAL_PER_G_DRY = (3.5, 4.5)
"""What a growth food is advised to hold per gram of dry matter (Hand et al. 2010, Table 17-1)."""


class LabelUnit(StrEnum):
    """In what a label gives the energy. Stored values are fixed for good."""

    KCAL_PER_100G = "kcal-per-100g"
    KCAL_PER_KG = "kcal-per-kg"
    KJ_PER_100G = "kj-per-100g"
    ANALYSIS = "analysis"
    """The label gives none: worked out from the analysis."""


KCAL_PER_100G_IN = {
    LabelUnit.KCAL_PER_100G: 1.0,
    LabelUnit.KCAL_PER_KG: 0.1,
    LabelUnit.KJ_PER_100G: 1.0 / KJ_PER_KCAL,
}


@dataclass(frozen=True)
class Analysis:
    """What a label says is in the food, in per cent as fed (0 to 100).

    Raises InvalidInput with everything that cannot be, at once.
    """

    protein: float
    fat: float
    fibre: float
    moisture: float
    ash: float

    def __post_init__(self) -> None:
        problems = analysis_problems(self)
        if problems:
            raise InvalidInput(problems)

    @property
    def carbohydrate(self) -> float:
        """The nitrogen-free extract: what is left of 100."""
        return 100.0 - math.fsum(getattr(self, one.name) for one in fields(self))


def analysis_problems(analysis: Analysis) -> list[Problem]:
    """Return everything that is wrong with an analysis."""
    given = {one.name: getattr(analysis, one.name) for one in fields(analysis)}
    problems = [
        Problem(name, "{given} % cannot be; give a number from 0 to 100, as the label says.", given=percent)
        for name, percent in given.items()
        if not 0.0 <= percent <= 100.0
    ]
    total = math.fsum(given.values())
    if not problems and total > 100.0:
        problems.append(
            Problem("protein", "The analysis adds up to {total:g} %; no more than 100 can be.", total=total)
        )
    return problems


def atwater_kcal_per_kg(analysis: Analysis) -> float:
    """Return the energy of a food as fed, by modified Atwater factors.

    Model: 10 · (3.5 protein + 8.5 fat + 3.5 carbohydrate), in per cent as fed.
    Assumes: a dry or tinned food for dogs; fresh human foods are digested better than these factors say.
    Source: AAFCO modified Atwater (Maryland 15.18.09.11; Mississippi 1-3-02-114.09); tests/external/test_food_label.py.
    """
    return 10.0 * (3.5 * analysis.protein + 8.5 * analysis.fat + 3.5 * analysis.carbohydrate)


@dataclass(frozen=True)
class FoodLabel:
    """What stands on the label: a number in its unit, or an analysis; the number wins where both are given.

    Raises InvalidInput for an energy that no food has.
    """

    energy: float | None = None
    unit: LabelUnit = LabelUnit.KCAL_PER_100G
    analysis: Analysis | None = None

    def __post_init__(self) -> None:
        problems = energy_problems(self.energy, self.unit)
        if problems:
            raise InvalidInput(problems)

    @property
    def kcal_per_100g(self) -> float | None:
        """The energy as fed; None where the label says nothing."""
        if self.energy is not None and self.unit is not LabelUnit.ANALYSIS:
            return self.energy * KCAL_PER_100G_IN[self.unit]
        return None if self.analysis is None else atwater_kcal_per_kg(self.analysis) / 10.0


def energy_problems(energy: float | None, unit: LabelUnit) -> list[Problem]:
    """Return what is wrong with the number on a label."""
    if energy is None or unit is LabelUnit.ANALYSIS:
        return []
    kcal = energy * KCAL_PER_100G_IN[unit]
    if 0.0 < kcal <= MAX_KCAL_PER_100G:
        return []
    if unit is LabelUnit.KCAL_PER_100G and MAX_KCAL_PER_100G < energy <= 10.0 * MAX_KCAL_PER_100G:
        return [Problem("energy", "{n:g} kcal per 100 g is no food; is that per kilogram?", n=energy)]
    return [
        Problem("energy", "{n:g} kcal per 100 g is no food; the label has a number up to {most:.0f}.", n=kcal,
                most=MAX_KCAL_PER_100G)
    ]  # fmt: skip


def read_label(
    energy: float | None, unit: LabelUnit, parts: Mapping[str, float | None]
) -> tuple[FoodLabel, list[Problem]]:
    """Return the label, and everything that is wrong with it; an empty label where something is.

    parts: protein, fat, fibre, moisture, ash in per cent as fed; all of them or none.
    """
    names = [one.name for one in fields(Analysis)]
    given = {name: value for name in names if (value := parts.get(name)) is not None}
    problems = energy_problems(energy, unit)
    missing = [name for name in names if name not in given]
    if (given or unit is LabelUnit.ANALYSIS) and missing:
        problems += [
            Problem(name, "The energy follows from all five parts; this one is missing. Ask the maker where the label "
                    "leaves it out.")
            for name in missing
        ]  # fmt: skip
        return FoodLabel(), problems
    analysis = None
    if given:
        try:
            analysis = Analysis(**given)
        except InvalidInput as error:
            problems += error.problems
    if analysis is not None and atwater_kcal_per_kg(analysis) <= 0.0:
        problems.append(Problem("protein", "By this analysis the food has no energy; look at the label again."))
    return (FoodLabel(), problems) if problems else (FoodLabel(energy, unit, analysis), [])


def kcal_per_g_dry(kcal_per_100g: float, moisture: float) -> float:
    """Return the energy per gram of dry matter, to compare with GROWTH_KCAL_PER_G_DRY; moisture in per cent, under 100.

    Raises: InvalidInput for a food that is all water.
    """
    if not 0.0 <= moisture < 100.0:
        raise InvalidInput.of("moisture", "{given} % water leaves no food; look at the label again.", given=moisture)
    return kcal_per_100g / (100.0 - moisture)


def growth_food_sentence(kcal_per_100g: float, analysis: Analysis) -> Sentence:
    """Return how the food's energy stands against what is advised for growth, per gram of dry matter."""
    per_g = kcal_per_g_dry(kcal_per_100g, analysis.moisture)
    low, high = GROWTH_KCAL_PER_G_DRY
    return sentence(
        "{per_g:.2f} kcal in a gram of dry matter; for growth {low:g} to {high:g} are advised.",
        per_g=per_g,
        low=low,
        high=high,
    )
