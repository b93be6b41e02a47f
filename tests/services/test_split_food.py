"""A day's food for planned sessions."""

import pytest

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.services.rank_reinforcers import rank_reinforcers
from pupilage.services.split_food import count_rewards, split_food, wish_of
from pupilage.storage.models import Weight

HOME = next(iter(Place))


def session(**more):
    return PlannedSession(**{"behaviour": "sit", "step": "word", "purpose": Purpose.TEACH, "minutes": 3,
                             "place": HOME, **more})  # fmt: skip


def test_planned_sessions_get_meals_and_pieces(actor, dog, now):
    rank_reinforcers(actor, dog, {"cooked chicken": 1}, now=now)
    asked = [session(), session(purpose=Purpose.ELSEWHERE), session(distraction=4, pieces=12)]
    split = split_food(actor, dog, asked, now=now, n_meals=3)
    assert [one.reinforcer for one in split.sessions] == ["dry food", "cooked chicken", "cooked chicken"]
    assert [one.pieces for one in split.sessions] == [30, 30, 12]
    assert len(split.meals) == 3
    # 210 g a day, less what 42 pieces of chicken bring: 42 x 0.825 kcal at 3.7 kcal a gram
    assert split.food_g == pytest.approx(210 - 42 * 0.825 / 3.7)


def test_pieces_that_were_planned_are_what_is_wanted():
    for pieces in (1, 7, 12, 45, 90):
        assert wish_of(session(pieces=pieces)).n_rewards == pieces


def test_rewards_of_a_day_are_what_the_food_can_pay(actor, dog, now):
    n = count_rewards(actor, dog, now=now)
    # half of nine tenths of 210 g in 0.4 g pieces, and a tenth of 777 kcal in 0.825 kcal pieces
    assert n == int(0.5 * 189 / 0.4) + int(77.7 / 0.825)
    assert split_food(actor, dog, [session(minutes=30, pieces=n - 2)], now=now).n_short == 0


def test_dog_without_a_weight_has_no_split(actor, dog, now):
    Weight.objects.all().delete()
    assert split_food(actor, dog, [session()], now=now) is None
    assert count_rewards(actor, dog, now=now) is None
