"""The day's food, split into bowls and pouch."""

import math

import pytest

from pupilage.core.care.food.demand import DayFood, FoodWish
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.food.split import ShortOf, split_day
from pupilage.core.errors import InvalidInput

FOOD = DayFood(700.0, 350.0, 4)
KIBBLE = Reward("dry food", 0.4, 350.0, from_ration=True)
CHICKEN = Reward("chicken", 0.5, 165.0, rank=2)
CHEESE = Reward("cheese", 0.3, 403.0, rank=1)
TUG = Reward("tug", 0.0)


def test_day_without_training_is_all_bowl():
    split = split_day(FOOD, [], [KIBBLE, CHICKEN])
    assert [meal.bowl_g for meal in split.meals] == pytest.approx([50.0] * 4)
    assert [meal.pouch_g for meal in split.meals] == [0.0] * 4
    assert (split.enough, split.short, split.treats_kcal) == (True, (), 0.0)


def test_easy_sessions_are_paid_out_of_the_ration():
    split = split_day(FOOD, [FoodWish(3, 10)] * 4, [CHEESE, KIBBLE])
    assert {one.reinforcer for one in split.sessions} == {"dry food"}
    assert [meal.pouch_g for meal in split.meals] == pytest.approx([12.0] * 4)
    assert sum(meal.bowl_g + meal.pouch_g for meal in split.meals) == pytest.approx(200.0)


def test_hard_sessions_have_what_it_likes_best_and_the_bowl_gives_the_energy_back():
    split = split_day(FOOD, [FoodWish(3, 10), FoodWish(3, 10, hard=True)], [KIBBLE, CHICKEN, CHEESE])
    assert [one.reinforcer for one in split.sessions] == ["dry food", "cheese"]
    assert split.treats_kcal == pytest.approx(30 * 0.3 * 4.03)
    assert split.food_g == pytest.approx(200 - split.treats_kcal / 3.5)


def test_treats_stop_at_a_tenth_and_the_ration_goes_on():
    split = split_day(FOOD, [FoodWish(10, 10, hard=True)], [KIBBLE, CHICKEN])
    first, second = split.sessions[0].portions
    assert (first.reinforcer, first.pieces) == ("chicken", math.floor(70 / 0.825))
    assert (second.reinforcer, second.pieces) == ("dry food", 100 - first.pieces)
    assert split.treats_kcal <= 70
    assert [one.of for one in split.short] == [ShortOf.TREATS]
    assert split.enough


def test_more_than_the_pouch_may_hold_is_short_and_the_bowls_stay():
    split = split_day(FOOD, [FoodWish(5, 15)] * 6, [KIBBLE])
    assert not split.enough
    assert split.n_short == 450 - 250
    assert sum(meal.bowl_g for meal in split.meals) >= 0.5 * split.food_g - 1e-9
    reason = str(next(one for one in split.short if one.of is ShortOf.FOOD).reason)
    assert "200 of 450 rewards have none, and the bowls stay as they are" in reason
    assert "8.3 a minute" in reason


def test_rate_that_it_would_do_for_is_enough():
    split = split_day(FOOD, [FoodWish(5, 15)] * 6, [KIBBLE])
    paid_rate = (450 - split.n_short) / 30
    assert split_day(FOOD, [FoodWish(5, paid_rate - 0.2)] * 6, [KIBBLE]).enough


def test_toy_costs_no_food():
    split = split_day(FOOD, [FoodWish(3, 10, reinforcer="tug")], [KIBBLE, TUG])
    assert split.sessions[0].reinforcer == "tug"
    assert split.food_g == pytest.approx(200.0)
    assert split.meals[0].pouch_g == 0.0


def test_named_reinforcer_is_taken_where_it_can_be():
    split = split_day(FOOD, [FoodWish(3, 10, reinforcer="chicken")], [KIBBLE, CHICKEN, CHEESE])
    assert split.sessions[0].reinforcer == "chicken"


def test_reinforcer_that_must_not_be_fed_is_left_out_and_named():
    bad = Reward("onion rings", 1.0, 300.0, rank=1, unsafe=True)
    split = split_day(FOOD, [FoodWish(3, 10, hard=True, reinforcer="onion rings")], [KIBBLE, bad])
    assert split.sessions[0].reinforcer == "dry food"
    assert [one.of for one in split.short] == [ShortOf.SAFE]


def test_treat_of_unknown_energy_is_left_out_and_named():
    split = split_day(FOOD, [FoodWish(3, 10, hard=True)], [KIBBLE, Reward("liver", 0.5)])
    assert split.sessions[0].reinforcer == "dry food"
    assert [one.of for one in split.short] == [ShortOf.ENERGY]


def test_list_without_the_pups_own_food_is_said():
    split = split_day(FOOD, [FoodWish(3, 10)] * 4, [CHICKEN])
    assert {one.of for one in split.short} == {ShortOf.RATION_PIECES, ShortOf.FOOD}
    assert sum(one.pieces for one in split.sessions) == math.floor(70 / 0.825)


def test_sessions_draw_on_the_meal_that_they_follow():
    wishes = [FoodWish(3, 10, after_meal=3), FoodWish(3, 10, after_meal=0), FoodWish(3, 10, after_meal=9)]
    split = split_day(FOOD, wishes, [KIBBLE])
    assert [meal.pouch_g for meal in split.meals] == pytest.approx([12.0, 0.0, 0.0, 24.0])


def test_everything_that_cannot_be_is_said_at_once():
    with pytest.raises(InvalidInput) as raised:
        split_day(
            DayFood(math.nan, 0.0, 0, bowl_floor=0.2),
            [FoodWish(-1, 10), FoodWish(3, 99), FoodWish(3, 10, after_meal=-1)],
            [Reward("bad", -0.4, -1.0)],
        )
    assert [problem.where for problem in raised.value.problems] == [
        "energy_kcal", "kcal_per_100g", "n_meals", "bowl_floor", *["sessions"] * 3, "piece_g", "kcal_per_100g",
    ]  # fmt: skip


def test_hard_session_that_asks_for_the_ration_is_not_said_to_lack_treats():
    split = split_day(FOOD, [FoodWish(3, 10, hard=True, reinforcer="dry food")], [KIBBLE, CHICKEN])
    assert split.sessions[0].reinforcer == "dry food"
    assert split.short == ()
