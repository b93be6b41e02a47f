"""How much energy a growing pup needs a day, by every method in use, side by side.

The methods disagree by up to a half, and pups of one weight differ up to threefold (Merck Veterinary Manual). Each is
a place to start from: the scale and the body condition decide afterwards.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from pupilage.core.care.food.pup import Pup
from pupilage.core.words import Sentence, sentence

RESTING_KCAL = 70.0
MAINTENANCE_KCAL = 130.0
NEUTERED_FACTOR = 1.6
"""Of a grown, neutered dog, times the resting requirement (Hand et al. 2010, Table 5-2; others give 1.4)."""

KJ_PER_KCAL = 4.184
LINEAR_RANGE_KG = (2.0, 45.0)
"""The linear form stands for weights between these, the ends left out."""

YOUNG_UNTIL_WEEKS = 4 * 30.4375 / 7
"""Four months: three times the resting requirement before, twice from then on."""

BANDS = ((0.5, 210.0), (0.8, 175.0), (math.inf, 140.0))
"""Below this fraction of the adult weight, so many kcal per kg^0.75 (FEDIAF 2021, in VN Journal 37(4), Table 2)."""

LARGE_FACTORS_AT = ((0.15, 2.5), (0.30, 2.1), (0.43, 1.9), (0.60, 1.6), (0.71, 1.4), (0.80, 1.3), (1.00, 1.0))
"""At this fraction of the adult weight, so many times 130 kcal per kg^0.75 (Richardson et al. 2010, same table)."""

LARGE_FROM_KG = 25.0
"""Common practice, no source: a breed is large whose dogs weigh more than 25 kg when grown."""


class EnergyMethod(StrEnum):
    """A way to work out the energy of a growing pup. Stored values are fixed for good."""

    RESTING_BY_AGE = "resting-by-age"
    LINEAR_BY_AGE = "linear-by-age"
    GROWTH_CURVE = "growth-curve"
    GROWTH_BANDS = "growth-bands"
    LARGE_BREED = "large-breed"
    UNCONFIRMED_LINEAR = "unconfirmed-linear"


@dataclass(frozen=True)
class EnergyEstimate:
    """What one method says. energy_kcal: a day, None where the method does not stand for this pup; how: in words.

    low_kcal, high_kcal: the same were the grown weight off by its stated error; equal where it does not matter.
    confirmed: False for the form that we could not check against its source.
    """

    method: EnergyMethod
    energy_kcal: float | None
    low_kcal: float | None
    high_kcal: float | None
    how: Sentence
    confirmed: bool = True


@dataclass(frozen=True)
class EnergyComparison:
    """All methods for one pup, and how far those that stand for it lie apart (kcal a day, unconfirmed left out)."""

    estimates: tuple[EnergyEstimate, ...]
    lowest_kcal: float
    highest_kcal: float
    spread: Sentence

    def of(self, method: EnergyMethod) -> EnergyEstimate:
        """Return what a method says."""
        return next(one for one in self.estimates if one.method is method)


def metabolic_weight(weight_kg: float) -> float:
    """Return kg^0.75, what the needs of dogs of different size go by."""
    return math.pow(weight_kg, 0.75)


def resting_kcal(weight_kg: float) -> float:
    """Return the resting energy requirement a day.

    Model: 70 · kg^0.75.
    Source: Hand et al. 2010, Small Animal Clinical Nutrition, 5th ed., Table 5-2; tests/external/test_energy.py.
    """
    return RESTING_KCAL * metabolic_weight(weight_kg)


def resting_linear_kcal(weight_kg: float) -> float | None:
    """Return the resting requirement by its straight line, None at or outside 2 and 45 kg, where it is not meant.

    Model: 30 · kg + 70.
    Source: as `resting_kcal`.
    """
    low, high = LINEAR_RANGE_KG
    return 30.0 * weight_kg + 70.0 if low < weight_kg < high else None


def maintenance_kcal(weight_kg: float) -> float:
    """Return what a grown dog needs a day: 130 · kg^0.75 (NRC 2006, Nutrient Requirements of Dogs and Cats)."""
    return MAINTENANCE_KCAL * metabolic_weight(weight_kg)


def age_factor(age_weeks: float) -> float:
    """Return how many times the resting requirement a growing pup needs: 3 up to four months, 2 later.

    Source: Hand et al. 2010, Table 5-2 (seen on secondary pages only).
    """
    return 3.0 if age_weeks <= YOUNG_UNTIL_WEEKS else 2.0


def growth_curve_kcal(weight_kg: float, adult_weight_kg: float) -> float:
    """Return the energy of a growing pup a day.

    Model: 130 · kg^0.75 · 3.2 · (exp(−0.87 p) − 0.1), p the fraction of the adult weight. At p = 1 it is 2 % above
    maintenance; for one adult weight it is highest at p = 0.703.
    Source: NRC 2006, Nutrient Requirements of Dogs and Cats; tests/external/test_energy.py.
    """
    p = weight_kg / adult_weight_kg
    return maintenance_kcal(weight_kg) * 3.2 * (math.exp(-0.87 * p) - 0.1)


def growth_bands_kcal(weight_kg: float, adult_weight_kg: float) -> float:
    """Return the energy by bands of the adult weight: 210, 175 or 140 kcal per kg^0.75 (see BANDS)."""
    p = weight_kg / adult_weight_kg
    return next(rate for below, rate in BANDS if p < below) * metabolic_weight(weight_kg)


def large_breed_kcal(weight_kg: float, adult_weight_kg: float) -> float:
    """Return the energy of a pup of a large or giant breed.

    Model: 130 · kg^0.75 times 2.5 to 1.0 at seven fractions of the adult weight; a straight line between two of them
    is our assumption, and 2.5 below the first.
    Source: Richardson et al. 2010, in VN Journal 37(4), Sept 2022, Table 2; tests/external/test_energy.py.
    """
    return maintenance_kcal(weight_kg) * _large_factor(weight_kg / adult_weight_kg)


def _large_factor(p: float) -> float:
    if p <= LARGE_FACTORS_AT[0][0]:
        return LARGE_FACTORS_AT[0][1]
    for (below, factor), (above, next_factor) in pairwise(LARGE_FACTORS_AT):
        if p <= above:
            return factor + (p - below) / (above - below) * (next_factor - factor)
    return LARGE_FACTORS_AT[-1][1]


def unconfirmed_linear_kcal(weight_kg: float, adult_weight_kg: float) -> float:
    """Return (254.1 − 135.0 p) · kg^0.75. From memory: Klein et al. 2019, not confirmed; an option only."""
    p = weight_kg / adult_weight_kg
    return (254.1 - 135.0 * p) * metabolic_weight(weight_kg)


def compare_methods(pup: Pup) -> EnergyComparison:
    """Return what every method says of a pup, and the spread between those that stand for it.

    Raises: InvalidInput for a pup that cannot be (see `pup.require_pup`).
    """
    estimates = (*_by_age(pup), *(_by_growth(pup, method) for method in _BY_GROWTH))
    counted = [one.energy_kcal for one in estimates if one.confirmed and one.energy_kcal is not None]
    lowest, highest = min(counted), max(counted)
    spread = sentence(
        "From {low:.0f} to {high:.0f} kcal a day, by method: the highest is {times:.2f} times the lowest. Start with "
        "one, weigh every week, and let the body condition decide.",
        low=lowest,
        high=highest,
        times=highest / lowest,
    )
    return EnergyComparison(estimates, lowest, highest, spread)


def usual_method(pup: Pup) -> EnergyMethod:
    """Return the method to start from while the trainer has chosen none.

    The bands where a grown weight is known: pups in a trial ate less than the growth curve says at every age
    (Bradley et al. 2021, Animals 11(5):1380, 17 Norfolk terriers). Else three or two times the resting requirement.
    """
    return EnergyMethod.RESTING_BY_AGE if pup.adult_weight_kg is None else EnergyMethod.GROWTH_BANDS


def grown_kcal(adult_weight_kg: float) -> tuple[float, float]:
    """Return what the grown dog needs a day, by two methods, the lower first: 1.6 resting, and maintenance."""
    both = NEUTERED_FACTOR * resting_kcal(adult_weight_kg), maintenance_kcal(adult_weight_kg)
    return min(both), max(both)


def _by_age(pup: Pup) -> tuple[EnergyEstimate, EnergyEstimate]:
    factor = age_factor(pup.age_weeks)
    energy = factor * resting_kcal(pup.weight_kg)
    linear = resting_linear_kcal(pup.weight_kg)
    by_line = None if linear is None else factor * linear
    how = sentence(
        "{factor:.0f} times the resting requirement, 70 · kg^0.75: 3 times up to four months, 2 times later.",
        factor=factor,
    )
    low, high = LINEAR_RANGE_KG
    line = sentence(
        "{factor:.0f} times the resting requirement by its straight line, 30 · kg + 70.", factor=factor
    ) if linear is not None else sentence(
        "The straight line is meant for {low:.0f} to {high:.0f} kg only, the ends left out.", low=low, high=high
    )  # fmt: skip
    return (
        EnergyEstimate(EnergyMethod.RESTING_BY_AGE, energy, energy, energy, how),
        EnergyEstimate(EnergyMethod.LINEAR_BY_AGE, by_line, by_line, by_line, line),
    )


_BY_GROWTH: dict[EnergyMethod, Callable[[float, float], float]] = {
    EnergyMethod.GROWTH_CURVE: growth_curve_kcal,
    EnergyMethod.GROWTH_BANDS: growth_bands_kcal,
    EnergyMethod.LARGE_BREED: large_breed_kcal,
    EnergyMethod.UNCONFIRMED_LINEAR: unconfirmed_linear_kcal,
}

_HOW = {
    EnergyMethod.GROWTH_CURVE: sentence("Growth equation of 2006, falling with the fraction of the grown weight."),
    EnergyMethod.GROWTH_BANDS: sentence(
        "210, 175 or 140 kcal per kg^0.75: below half of the grown weight, below 80 in 100, above."
    ),
    EnergyMethod.LARGE_BREED: sentence("For large and giant breeds: 2.5 to 1.0 times 130 · kg^0.75."),
    EnergyMethod.UNCONFIRMED_LINEAR: sentence(
        "A newer straight line, from memory and not confirmed: for comparison, and for whoever knows it."
    ),
}


def _by_growth(pup: Pup, method: EnergyMethod) -> EnergyEstimate:
    confirmed = method is not EnergyMethod.UNCONFIRMED_LINEAR
    adult = pup.adult_weight_kg
    if adult is None:
        why = sentence("This needs the weight expected when grown; ask the breeder or the veterinarian.")
        return EnergyEstimate(method, None, None, None, why, confirmed)
    if method is EnergyMethod.LARGE_BREED and adult <= LARGE_FROM_KG:
        why = sentence("Only for pups that will weigh more than {kg:.0f} kg.", kg=LARGE_FROM_KG)
        return EnergyEstimate(method, None, None, None, why, confirmed)
    formula = _BY_GROWTH[method]
    ends = [formula(pup.weight_kg, end) for end in pup.adult_weight_ends_kg]
    energy = formula(pup.weight_kg, adult)
    return EnergyEstimate(method, energy, min(energy, *ends), max(energy, *ends), _HOW[method], confirmed)
