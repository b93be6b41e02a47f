"""The fraction of the adult weight by age, for very small dogs, against the energies printed for them.

Source: NRC 2006, Nutrient Requirements of Dogs and Cats, Table 1, first row (adult weight 1 kg: 56, 97, 123, 137 kcal
at months 1 to 4), solved backwards through the same book's growth equation. Ages of half the adult weight for the
other sizes are from memory and have no outside check.
"""

import math

import pytest
from scipy.optimize import brentq

from pupilage.core.care.food.growth import WEEKS_PER_MONTH, typical_fraction


def nrc(p: float) -> float:
    return 130 * p**0.75 * 3.2 * (math.exp(-0.87 * p) - 0.1)


@pytest.mark.parametrize(("month", "kcal"), [(1, 56), (2, 97), (3, 123), (4, 137)])
def test_curve_agrees_with_the_weights_that_the_energies_imply(month, kcal):
    """One kcal of rounding moves the weight by up to 0.006, at month 4 by 0.02 (flat there); the curve is smooth."""
    implied = brentq(lambda p: nrc(p) - kcal, 0.01, 0.70)
    assert typical_fraction(month * WEEKS_PER_MONTH, 1.0) == pytest.approx(implied, abs=0.01)
