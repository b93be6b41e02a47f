"""What a label may say, and what is refused in a sentence."""

import math

import pytest

from pupilage.core.care.food.label import Analysis, FoodLabel, LabelUnit, kcal_per_g_dry, read_label
from pupilage.core.errors import InvalidInput

WHOLE = {"protein": 28, "fat": 15, "fibre": 4, "moisture": 10, "ash": 8}


@pytest.mark.parametrize("energy", [0, -370, math.nan, math.inf, 1000])
def test_energy_that_no_food_has_is_refused(energy):
    with pytest.raises(InvalidInput, match="no food"):
        FoodLabel(energy)


def test_a_figure_per_kilogram_in_the_wrong_box_is_asked_after():
    _, problems = read_label(3700, LabelUnit.KCAL_PER_100G, {})
    assert str(problems[0].sentence) == "3700 kcal per 100 g is no food; is that per kilogram?"


def test_number_on_the_label_wins_over_the_analysis():
    label, problems = read_label(370, LabelUnit.KCAL_PER_100G, WHOLE)
    assert not problems
    assert label.kcal_per_100g == 370
    assert label.analysis == Analysis(**WHOLE)


def test_empty_label_says_nothing():
    label, problems = read_label(None, LabelUnit.KCAL_PER_100G, dict.fromkeys(WHOLE))
    assert (label.kcal_per_100g, problems) == (None, [])


def test_analysis_without_one_part_names_the_part():
    _, problems = read_label(None, LabelUnit.ANALYSIS, {**WHOLE, "ash": None})
    assert [problem.where for problem in problems] == ["ash"]


def test_all_that_is_wrong_with_an_analysis_is_said_at_once():
    _, problems = read_label(0, LabelUnit.KCAL_PER_KG, {**WHOLE, "fat": -1, "fibre": math.nan})
    assert [problem.where for problem in problems] == ["energy", "fat", "fibre"]


def test_analysis_over_a_hundred_percent_is_refused():
    with pytest.raises(InvalidInput, match="adds up to 145 %"):
        Analysis(90, 15, 20, 10, 10)


def test_food_that_is_all_water_is_refused():
    with pytest.raises(InvalidInput, match="leaves no food"):
        kcal_per_g_dry(100, 100)


def test_analysis_of_water_alone_is_refused():
    _, problems = read_label(None, LabelUnit.ANALYSIS, {**dict.fromkeys(WHOLE, 0.0), "moisture": 100.0})
    assert str(problems[0].sentence) == "By this analysis the food has no energy; look at the label again."
