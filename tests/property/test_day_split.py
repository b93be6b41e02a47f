"""Whatever a plan asks for: bowls keep their share, treats stay within a tenth, and the day's energy is the day's."""

import math

from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.care.food.demand import BOWL_FLOOR, DayFood, FoodWish
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.food.split import split_day

positive = st.floats(0.05, 3.0)
rewards = st.lists(
    st.builds(
        Reward,
        name=st.sampled_from(["a", "b", "c", "d", "e"]),
        piece_g=st.one_of(st.just(0.0), positive),
        kcal_per_100g=st.one_of(st.none(), st.floats(0.0, 900.0)),
        from_ration=st.booleans(),
        rank=st.one_of(st.none(), st.integers(1, 9)),
        unsafe=st.booleans(),
    ),
    max_size=5,
    unique_by=lambda one: one.name,
)
wishes = st.lists(
    st.builds(
        FoodWish,
        minutes=st.floats(0.5, 10.0),
        rate_per_min=st.floats(0.0, 20.0),
        hard=st.booleans(),
        reinforcer=st.sampled_from(["", "", "a", "b", "z"]),
        after_meal=st.one_of(st.none(), st.integers(0, 6)),
    ),
    max_size=8,
)
foods = st.builds(
    DayFood,
    energy_kcal=st.floats(80.0, 3000.0),
    kcal_per_100g=st.floats(60.0, 500.0),
    n_meals=st.integers(1, 5),
    bowl_floor=st.floats(BOWL_FLOOR, 1.0),
)


@given(foods, wishes, rewards)
def test_no_plan_takes_a_meal_away(food, asked, offered):
    split = split_day(food, asked, offered)
    bowl_g = math.fsum(meal.bowl_g for meal in split.meals)
    assert bowl_g >= food.bowl_floor * split.food_g * (1 - 1e-9)
    assert all(meal.bowl_g > 0 and meal.pouch_g >= 0 for meal in split.meals)
    assert split.treats_kcal <= split.treat_limit_kcal * (1 + 1e-9)


@given(foods, wishes, rewards)
def test_energy_of_the_day_is_kept(food, asked, offered):
    split = split_day(food, asked, offered)
    given_g = math.fsum(meal.bowl_g + meal.pouch_g for meal in split.meals)
    assert math.isclose(given_g * food.kcal_per_100g / 100 + split.treats_kcal, food.energy_kcal, rel_tol=1e-9)
    pouch_g = math.fsum(meal.pouch_g for meal in split.meals)
    paid_g = math.fsum(p.grams for one in split.sessions for p in one.portions if p.from_ration)
    assert math.isclose(pouch_g, paid_g, abs_tol=1e-9)


@given(foods, wishes, rewards)
def test_every_reward_is_paid_or_short(food, asked, offered):
    split = split_day(food, asked, offered)
    by_name = {one.name: one for one in offered}
    assert [one.wish for one in split.sessions] == asked
    for one in split.sessions:
        assert one.pieces + one.n_short == one.wish.n_rewards
        assert not any(by_name[portion.reinforcer].unsafe for portion in one.portions)
    assert split.enough == (not any(one.n_rewards for one in split.short))
