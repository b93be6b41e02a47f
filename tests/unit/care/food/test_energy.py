"""The methods side by side: which stand for a pup, how far apart, which is the usual one."""

import pytest

from pupilage.core.care.food.energy import (
    EnergyMethod,
    age_factor,
    compare_methods,
    grown_kcal,
    large_breed_kcal,
    usual_method,
)
from pupilage.core.care.food.pup import AdultWeightSource, Pup
from pupilage.core.errors import InvalidInput

PUP = Pup(12, 5, 20, AdultWeightSource.BREED)


def test_every_method_is_told_of_and_the_unconfirmed_one_is_left_out_of_the_spread():
    found = compare_methods(PUP)
    assert [one.method for one in found.estimates] == list(EnergyMethod)
    counted = [one.energy_kcal for one in found.estimates if one.confirmed and one.energy_kcal is not None]
    assert (found.lowest_kcal, found.highest_kcal) == (min(counted), max(counted))
    assert not found.of(EnergyMethod.UNCONFIRMED_LINEAR).confirmed
    assert "the highest is 1.48 times the lowest" in str(found.spread)


def test_without_a_grown_weight_the_methods_that_need_it_say_so():
    found = compare_methods(Pup(12, 5))
    for method in (EnergyMethod.GROWTH_CURVE, EnergyMethod.GROWTH_BANDS, EnergyMethod.LARGE_BREED):
        assert found.of(method).energy_kcal is None
        assert "grown" in str(found.of(method).how)
    assert usual_method(Pup(12, 5)) is EnergyMethod.RESTING_BY_AGE
    assert usual_method(PUP) is EnergyMethod.GROWTH_BANDS


def test_large_breeds_method_is_for_large_breeds_only():
    assert compare_methods(Pup(12, 5, 25)).of(EnergyMethod.LARGE_BREED).energy_kcal is None
    assert compare_methods(Pup(12, 8, 40)).of(EnergyMethod.LARGE_BREED).energy_kcal == large_breed_kcal(8, 40)


def test_an_error_in_the_grown_weight_is_carried_into_the_energy():
    curve = compare_methods(PUP).of(EnergyMethod.GROWTH_CURVE)
    assert curve.low_kcal < curve.energy_kcal < curve.high_kcal
    guessed = compare_methods(Pup(12, 5, 20, AdultWeightSource.GUESS)).of(EnergyMethod.GROWTH_CURVE)
    assert guessed.low_kcal < curve.low_kcal
    by_age = compare_methods(PUP).of(EnergyMethod.RESTING_BY_AGE)
    assert by_age.low_kcal == by_age.high_kcal == by_age.energy_kcal


def test_factor_changes_at_four_months():
    assert [age_factor(weeks) for weeks in (8, 17.39, 17.40, 30)] == [3, 3, 2, 2]


def test_large_breed_factor_is_kept_outside_its_points():
    assert large_breed_kcal(2, 50) / 2**0.75 == pytest.approx(130 * 2.5)
    assert large_breed_kcal(52, 50) / 52**0.75 == pytest.approx(130)


def test_grown_dog_has_a_lower_and_a_higher_figure():
    low, high = grown_kcal(20)
    assert low == pytest.approx(1059.2, abs=0.05)
    assert high == pytest.approx(1229.5, abs=0.05)


@pytest.mark.parametrize(
    ("age", "weight", "adult", "fields"),
    [
        (3, 5, 20, ["age_weeks"]),
        (60, 5, 20, ["age_weeks"]),
        (float("nan"), float("nan"), float("inf"), ["age_weeks", "weight_kg", "adult_weight_kg"]),
        (-2, 0, None, ["age_weeks", "weight_kg"]),
        (12, 5, 4, ["adult_weight_kg"]),
    ],
)
def test_pup_that_cannot_be_is_refused_with_every_sentence_at_once(age, weight, adult, fields):
    with pytest.raises(InvalidInput) as raised:
        Pup(age, weight, adult)
    assert [problem.where for problem in raised.value.problems] == fields
    assert all(str(problem.sentence).endswith(".") for problem in raised.value.problems)
