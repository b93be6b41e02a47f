"""What is left of the day's food."""

import pytest

from pupilage.core.care.food.ration import ration_left, ration_sentence
from pupilage.core.errors import InvalidInput


def test_meals_and_pieces_come_out_of_the_ration():
    assert ration_left(210.0, [60.0, 60.0], [(0.4, 50), (1.5, 4)]) == pytest.approx(64.0)


def test_nothing_fed_leaves_all_of_it():
    assert ration_left(210.0, [], []) == 210.0


def test_overdrawn_ration_is_negative_and_said():
    left = ration_left(100.0, [90.0], [(0.5, 60)])
    assert left == pytest.approx(-20.0)
    assert str(ration_sentence(left)) == "20 g more than today's food given; tomorrow is weighed as always."


def test_ration_left_is_said_in_grams():
    assert str(ration_sentence(63.6)) == "64 g of today's food left."
    assert str(ration_sentence(0.0)) == "0 g of today's food left."


def test_all_figures_that_cannot_be_are_refused_together():
    with pytest.raises(InvalidInput) as raised:
        ration_left(0.0, [-5.0, float("nan")], [(float("inf"), 1), (1.0, -2)])
    assert [problem.where for problem in raised.value.problems] == [
        "daily_g",
        "meals_g",
        "meals_g",
        "pieces",
        "pieces",
    ]
