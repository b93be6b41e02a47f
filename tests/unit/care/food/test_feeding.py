"""A pup that is on no record."""

import pytest

from pupilage.core.care.food.energy import EnergyMethod
from pupilage.core.care.food.feeding import FeedingQuestion, work_out
from pupilage.core.errors import InvalidInput


def test_few_figures_give_energy_meals_and_split():
    found = work_out(FeedingQuestion(5.0, 12.0, 20.0, 370.0, n_sessions=6, minutes=3.0))
    assert found.method is EnergyMethod.GROWTH_BANDS
    assert found.split.enough
    assert len(found.split.sessions) == 6
    assert found.meals.n_meals == 3
    assert found.grown_kcal[0] < found.grown_kcal[1]


def test_without_a_grown_weight_or_label_what_can_be_said_is_said():
    found = work_out(FeedingQuestion(5.0, 12.0))
    assert found.method is EnergyMethod.RESTING_BY_AGE
    assert (found.split, found.grown_kcal) == (None, None)


def test_day_without_sessions_is_all_bowl():
    found = work_out(FeedingQuestion(5.0, 12.0, 20.0, 370.0, n_sessions=0))
    assert found.split.sessions == ()
    assert sum(meal.bowl_g for meal in found.split.meals) == pytest.approx(found.energy_kcal / 3.7)


def test_everything_that_is_missing_or_cannot_be_is_said_at_once():
    question = FeedingQuestion(None, 3.0, 500.0, 0.0, -1.0, n_sessions=99, minutes=-3.0, rate_per_min=90.0)
    with pytest.raises(InvalidInput) as raised:
        work_out(question)
    assert [problem.where for problem in raised.value.problems] == [
        "weight_kg", "age_weeks", "adult_weight_kg", "energy", "piece_g", "sessions", "sessions",
    ]  # fmt: skip
