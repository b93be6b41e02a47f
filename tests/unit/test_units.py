"""Weights."""

import math

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.units import WeightUnit, from_kg, require_weight_kg, to_kg


def test_pound_is_the_international_pound() -> None:
    # Source: NIST Special Publication 811 (2008), appendix B.8: 1 lb = 4.535 924 E-01 kg.
    assert to_kg(1, WeightUnit.LB) == pytest.approx(0.4535924, abs=5e-8)
    assert from_kg(0.45359237, WeightUnit.LB) == pytest.approx(1.0, rel=1e-12)


def test_kilograms_stay_as_they_are() -> None:
    assert to_kg(4.2, WeightUnit.KG) == 4.2
    assert from_kg(4.2, WeightUnit.KG) == 4.2


@pytest.mark.parametrize("weight_kg", [0.0, -3.0, 0.19, 120.1, 400.0, math.nan, math.inf])
def test_weight_that_no_dog_has_is_refused(weight_kg: float) -> None:
    with pytest.raises(InvalidInput, match=r"cannot be a dog's weight; give a number between 0\.2 and 120 kg"):
        require_weight_kg(weight_kg)


@pytest.mark.parametrize("weight_kg", [0.2, 4.0, 120.0])
def test_weight_that_a_dog_may_have_comes_back(weight_kg: float) -> None:
    assert require_weight_kg(weight_kg) == weight_kg
