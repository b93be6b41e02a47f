"""How many meals a day by age, and the caution of very small breeds."""

import pytest

from pupilage.core.care.food.meals import NEVER_WITHHOLD, meal_rule
from pupilage.core.care.food.pup import Pup


@pytest.mark.parametrize(("weeks", "meals"), [(8, 4), (11.9, 4), (12, 3), (26, 3), (26.2, 2), (50, 2)])
def test_meals_become_fewer_with_age(weeks, meals):
    assert meal_rule(Pup(weeks, 5, 20)).n_meals == meals
    assert meal_rule(Pup(weeks, 5, 20)).caution is None


def test_very_small_pup_keeps_four_meals_longer_and_never_fewer_than_three():
    assert meal_rule(Pup(14, 1.0, 3.0)).n_meals == 4
    assert meal_rule(Pup(40, 2.0, 3.0)).n_meals == 3
    rule = meal_rule(Pup(14, 1.0, 3.0))
    assert rule.longest_gap_h == 5
    assert "blood sugar" in str(rule.caution)
    assert "veterinarian at once" in str(rule.caution)


def test_nobody_goes_hungry_to_work():
    assert "never held back" in str(NEVER_WITHHOLD)
