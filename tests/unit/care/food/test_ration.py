"""What is left of the day's food."""

import pytest

from pupilage.core.care.food.ration import ration_left, ration_sentence, total_so_far
from pupilage.core.care.food.rewards import Reward
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


CHEESE = Reward("cheese", 0.5, 403.0)
KIBBLE = Reward("dry food", 0.4, 370.0, from_ration=True)


def test_treats_come_off_the_days_food_by_their_energy():
    total = total_so_far(200.0, 370.0, [50.0], [(KIBBLE, 50), (CHEESE, 10)])
    assert total.treats_kcal == pytest.approx(20.15)
    assert total.treats_g == pytest.approx(20.15 / 3.7)
    assert total.left_g == pytest.approx(200 - 50 - 20 - 20.15 / 3.7)
    assert total.treat_limit_kcal == pytest.approx(74.0)
    assert [str(note) for note in total.notes] == ["Treats: 20 of at most 74 kcal, a tenth of the day."]


def test_treats_beyond_the_tenth_are_said_and_take_no_more_food():
    total = total_so_far(200.0, 370.0, [], [(CHEESE, 100)])
    assert total.over_limit
    assert total.left_g == pytest.approx(180.0)
    assert "its meals stay" in str(total.notes[0])


def test_treats_of_unknown_energy_are_named_not_guessed():
    total = total_so_far(200.0, 370.0, [], [(Reward("liver", 0.5), 12)])
    assert total.treats_kcal == 0.0
    assert [str(note) for note in total.notes] == ["Not counted, because its energy is unknown: liver."]


def test_without_the_foods_energy_there_is_no_limit_to_show():
    total = total_so_far(200.0, None, [20.0], [(CHEESE, 10)])
    assert (total.treat_limit_kcal, total.left_g, total.notes) == (None, 180.0, ())


def test_toys_are_no_treats():
    assert total_so_far(200.0, 370.0, [], [(Reward("tug", 0.0), 30)]).notes == ()


def test_meals_that_nobody_weighed_are_said_to_be_missing():
    total = total_so_far(200.0, 370.0, [50.0, None, None], [])
    assert total.left_g == 150.0
    assert [str(note) for note in total.notes] == ["Meals without their grams, not in this sum: 2."]
