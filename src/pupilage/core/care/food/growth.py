"""How a pup grows: what it might weigh at its age, and whether it keeps to its own line.

No growth chart is in here: those of Salt et al. 2017 (PLoS ONE 12(9):e0182064) begin at 12 weeks and are not ours to
copy. What stands here is a curve drawn through remembered ages, good for noticing that something changes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from pupilage.core.words import Sentence, sentence

WEEKS_PER_MONTH = 30.4375 / 7

HALF_GROWN_MONTHS = ((9.0, 3.87), (15.0, 4.0), (30.0, 4.5), (40.0, 5.0), (math.inf, 5.75))
"""Below this adult weight (kg), half of it is reached at so many months. From memory, unconfirmed: small 3.5–4,
medium 4–4.5, large 5, giant 5.5–6."""

AT_BIRTH = 3.716
"""Minus the logarithm of the fraction of the adult weight at birth. With half at 3.87 months this gives the
fractions that the energies of a 1 kg dog imply (see tests/external/test_growth.py)."""

FRACTION_ERROR = 0.20
"""A pup's weight at an age differs at least so much from the curve, as a fraction of it."""

FAR_FROM_USUAL = (0.6, 1.6)

LEFT_ITS_LINE = 0.15
"""Common practice, no source: so far from its own earlier line, up or down, the veterinarian looks at the pup."""

LEAST_APART = timedelta(days=10)
LOST = 0.02
"""A loss larger than a scale's error. A growing pup does not lose weight."""

WEEK = timedelta(days=6)


@dataclass(frozen=True)
class Weighing:
    """A weighing. at: aware; condition: body condition 1 to 9, None where it was not judged."""

    at: datetime
    weight_kg: float
    condition: int | None = None


@dataclass(frozen=True)
class TypicalWeight:
    """What a pup of this age might weigh, with the least error that must be allowed for."""

    weight_kg: float
    low_kg: float
    high_kg: float


def typical_fraction(age_weeks: float, adult_weight_kg: float) -> float:
    """Return the fraction of the adult weight that is usual at an age, 0 to 1.

    Model: Gompertz, exp(−3.716 exp(−k months)), half at HALF_GROWN_MONTHS. The shape is an assumption.
    Source: ages from memory; for very small dogs the fractions that NRC 2006's growth equation gives back from
    published energies (tests/external/test_growth.py).
    """
    half_months = next(months for below_kg, months in HALF_GROWN_MONTHS if adult_weight_kg < below_kg)
    rate = math.log(AT_BIRTH / math.log(2.0)) / half_months
    return math.exp(-AT_BIRTH * math.exp(-rate * age_weeks / WEEKS_PER_MONTH))


def typical_weight(age_weeks: float, adult_weight_kg: float) -> TypicalWeight:
    """Return what a pup of this age might weigh in kilograms, with an error of a fifth to either side."""
    kg = typical_fraction(age_weeks, adult_weight_kg) * adult_weight_kg
    return TypicalWeight(kg, kg * (1.0 - FRACTION_ERROR), kg * (1.0 + FRACTION_ERROR))


def doubt_figures(weight_kg: float, usual: TypicalWeight) -> Sentence | None:
    """Return why the age or the grown weight is to be looked at again: the pup weighs under 0.6 or over 1.6 times the
    usual. Common practice, no source: so far apart one of the figures is wrong more often than the pup.
    """
    low, high = FAR_FROM_USUAL
    if low <= weight_kg / usual.weight_kg <= high:
        return None
    return sentence(
        "It weighs {kg:.1f} kg where about {usual:.1f} kg are usual: look at the date of birth and the grown weight "
        "again. If both are right, let the veterinarian see it.",
        kg=weight_kg,
        usual=usual.weight_kg,
    )


def growth_warning(
    weighings: Sequence[Weighing], *, born_at: datetime, adult_weight_kg: float | None
) -> Sentence | None:
    """Return why a veterinarian should look at a pup's growth, None while it keeps to its line.

    Parameters: weighings in time order; born_at, an aware instant on the day of birth.
    Model: lost more than 2 % since an earlier weighing of the last three weeks; or weight over the usual one at its
    age has moved by 15 % since the first weighing of the last five weeks, at least ten days before.
    """
    if len(weighings) < 2:
        return None
    last = weighings[-1]
    before = [one for one in weighings[:-1] if last.at - one.at <= timedelta(weeks=3)]
    heaviest = max((one.weight_kg for one in before), default=0.0)
    if last.weight_kg < heaviest * (1.0 - LOST):
        return sentence(
            "It has lost weight ({before:.1f} kg, now {now:.1f} kg). A growing pup does not: see the veterinarian.",
            before=heaviest,
            now=last.weight_kg,
        )
    if adult_weight_kg is None:
        return None
    return _off_its_line(weighings, born_at, adult_weight_kg)


def _off_its_line(weighings: Sequence[Weighing], born_at: datetime, adult_weight_kg: float) -> Sentence | None:
    last = weighings[-1]
    earlier = [one for one in weighings if LEAST_APART <= last.at - one.at <= timedelta(weeks=5)]
    if not earlier:
        return None
    now, then = (_against_usual(one, born_at, adult_weight_kg) for one in (last, earlier[0]))
    moved = now / then
    if 1.0 / (1.0 + LEFT_ITS_LINE) <= moved <= 1.0 + LEFT_ITS_LINE:
        return None
    days = (last.at - earlier[0].at).days
    if moved < 1.0:
        return sentence(
            "In {days} days it has fallen behind its own growth: let the veterinarian look at the weights.", days=days
        )
    return sentence(
        "In {days} days it has grown ahead of its own line: let the veterinarian look at the weights, and do not cut "
        "its food by yourself.",
        days=days,
    )


def _against_usual(weighing: Weighing, born_at: datetime, adult_weight_kg: float) -> float:
    weeks = (weighing.at - born_at) / timedelta(weeks=1)
    return weighing.weight_kg / (typical_fraction(weeks, adult_weight_kg) * adult_weight_kg)
