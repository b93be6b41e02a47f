"""The treat budget and the day's split, against worked examples.

Sources: the ten per cent rule of practice guidance in line with AAHA and WSAVA, worked for 900 and 1000 kcal a day,
and for 400 kcal with five treats of 20; USDA food data (roast chicken breast 165, roast chicken with skin 239, cheddar
403 kcal per 100 g; the first and last seen on secondary pages). The budget of a 5 kg pup was computed separately.
"""

import pytest

from pupilage.core.care.food.demand import DayFood, FoodWish
from pupilage.core.care.food.energy import growth_bands_kcal
from pupilage.core.care.food.ration import total_so_far
from pupilage.core.care.food.rewards import Reward, grams_in, treat_limit_kcal, treats_kcal
from pupilage.core.care.food.split import split_day
from pupilage.core.simulation.people import list_reinforcers

CHICKEN = Reward("cooked chicken", 0.5, 165.0, rank=1)
CHEDDAR = Reward("cheddar", 0.5, 403.0)
KIBBLE = Reward("dry food", 0.4, 370.0, from_ration=True)
ENERGY_5_KG = growth_bands_kcal(5, 20)


def test_a_tenth_of_900_and_1000_kcal():
    assert treat_limit_kcal(900) == pytest.approx(90)
    assert treat_limit_kcal(1000) == pytest.approx(100)


def test_1000_kcal_are_100_of_treats_and_900_of_complete_food():
    food = DayFood(1000.0, 400.0, 3)
    treat = Reward("treat", 1.0, 100.0)
    split = split_day(food, [FoodWish(10, 10, hard=True)], [treat])
    assert split.treats_kcal == pytest.approx(100)
    assert split.food_g * 4.0 == pytest.approx(900)
    assert split.enough


def test_five_treats_of_20_in_400_kcal_leave_300_kcal_of_food():
    """Worked with 200 kcal a cup: 1.5 cups. Those five treats are a quarter of the day, which the rule then forbids."""
    assert treats_kcal([(Reward("treat", 5.0, 400.0), 5)]) == pytest.approx(100)
    assert grams_in(400 - 100, 200) == pytest.approx(150)


def test_portion_of_9827_kcal_of_a_food_of_407_a_cup_is_24_cups():
    assert grams_in(982.7, 407) / 100 == pytest.approx(2.414, abs=0.5e-3)


def test_treat_budget_of_a_5_kg_pup():
    limit = treat_limit_kcal(ENERGY_5_KG)
    assert limit == pytest.approx(70.2, abs=0.05)
    assert grams_in(limit, 165) == pytest.approx(42.6, abs=0.05)
    assert grams_in(limit, 403) == pytest.approx(17.4, abs=0.05)
    assert grams_in(limit, 370) == pytest.approx(19.0, abs=0.05)
    day = DayFood(ENERGY_5_KG, 370.0, 4)
    for treat, pieces in ((CHICKEN, 85), (CHEDDAR, 34)):
        split = split_day(day, [FoodWish(20, 10, hard=True)], [treat])
        assert split.sessions[0].pieces == pieces


def test_six_sessions_of_three_minutes_need_twice_the_treat_budget():
    """6 x 3 min x 10 a minute: 180 rewards; of 0.5 g chicken 148.5 kcal, so most must come out of the ration."""
    wishes = [FoodWish(3, 10, hard=True)] * 6
    assert sum(one.n_rewards for one in wishes) == 180
    assert 180 * CHICKEN.piece_kcal == pytest.approx(148.5)
    split = split_day(DayFood(ENERGY_5_KG, 370.0, 4), wishes, [KIBBLE, CHICKEN])
    from_ration = sum(p.pieces for one in split.sessions for p in one.portions if p.from_ration)
    assert from_ration == 180 - 85
    assert split.enough


def test_food_out_of_the_ration_is_no_treat():
    total = total_so_far(190.0, 370.0, [100.0], [(KIBBLE, 150)])
    assert (total.treats_kcal, total.left_g) == (0.0, pytest.approx(30.0))


def test_energies_of_common_rewards():
    """Cheddar has 144 % more than roast chicken breast, and the invented scenario feeds both."""
    named = {one.name: one.kcal_per_100g for one in list_reinforcers()}
    assert (named["cheddar"] / named["roast chicken"] - 1) * 100 == pytest.approx(144, abs=0.5)
