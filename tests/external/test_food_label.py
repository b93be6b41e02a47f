"""Energy of a food from its analysis, by modified Atwater factors.

Source: AAFCO modified Atwater, as in Maryland 15.18.09.11 and Mississippi 1-3-02-114.09: 10 (3.5 CP + 8.5 CF + 3.5
NFE) kcal/kg, per cent as fed. The worked food was computed separately: protein 28, fat 15, fibre 4, moisture 10, ash 8.
Growth food 3.5 to 4.5 kcal per gram of dry matter: Hand et al. 2010, Table 17-1.
"""

import pytest

from pupilage.core.care.food.label import (
    GROWTH_KCAL_PER_G_DRY,
    Analysis,
    FoodLabel,
    LabelUnit,
    atwater_kcal_per_kg,
    kcal_per_g_dry,
)

WORKED = Analysis(protein=28, fat=15, fibre=4, moisture=10, ash=8)


def test_worked_food_has_35_percent_carbohydrate_and_3480_kcal_per_kg():
    assert WORKED.carbohydrate == pytest.approx(35.0, rel=1e-12)
    assert atwater_kcal_per_kg(WORKED) == pytest.approx(3480.0, rel=1e-12)
    assert FoodLabel(unit=LabelUnit.ANALYSIS, analysis=WORKED).kcal_per_100g == pytest.approx(348.0, rel=1e-12)


def test_each_factor_counts():
    """Ten per cent more of one, taken from the fibre or water, adds ten times ten times its factor."""
    base = atwater_kcal_per_kg(Analysis(20, 10, 10, 20, 10))
    assert atwater_kcal_per_kg(Analysis(30, 10, 0, 20, 10)) - base == pytest.approx(350)
    assert atwater_kcal_per_kg(Analysis(20, 20, 0, 20, 10)) - base == pytest.approx(850)
    assert atwater_kcal_per_kg(Analysis(20, 10, 10, 10, 10)) - base == pytest.approx(350)


def test_worked_food_is_within_what_a_growth_food_should_hold():
    low, high = GROWTH_KCAL_PER_G_DRY
    assert (low, high) == (3.5, 4.5)
    assert low < kcal_per_g_dry(348.0, 10) < high
    assert kcal_per_g_dry(348.0, 10) == pytest.approx(348 / 90, rel=1e-12)


def test_labels_in_other_units_are_the_same_food():
    """1 kcal = 4.184 kJ (the thermochemical calorie)."""
    for energy, unit in ((348.0, LabelUnit.KCAL_PER_100G), (3480.0, LabelUnit.KCAL_PER_KG), (1456.032, "kj-per-100g")):
        assert FoodLabel(energy, LabelUnit(unit)).kcal_per_100g == pytest.approx(348.0, rel=1e-12)
