"""A pup that is on no record: from a few figures to its energy, its meals, and bowl and pouch."""

from dataclasses import dataclass

from pupilage.core.care.food.demand import (
    USUAL_RATE_PER_MIN,
    USUAL_SESSIONS,
    DayFood,
    FoodWish,
    sessions_problems,
    usual_minutes,
    wish_problems,
)
from pupilage.core.care.food.energy import EnergyComparison, EnergyMethod, compare_methods, grown_kcal, usual_method
from pupilage.core.care.food.label import LabelUnit, energy_problems
from pupilage.core.care.food.meals import MealRule, meal_rule
from pupilage.core.care.food.pup import YOUNGEST_WEEKS, Pup, pup_problems
from pupilage.core.care.food.rewards import Reward, reward_problems
from pupilage.core.care.food.split import DaySplit, split_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.units import MIN_WEIGHT_KG

PIECE_G = 0.4
"""A piece of dry food for pups, about; the label says nothing of it."""


@dataclass(frozen=True)
class FeedingQuestion:
    """What is said of a pup and its day; None: not said, and then as usual where that can be.

    kcal_per_100g: of its food; piece_g: a piece of it; n_sessions, minutes, rate_per_min: the training of the day.
    """

    weight_kg: float | None
    age_weeks: float | None
    adult_weight_kg: float | None = None
    kcal_per_100g: float | None = None
    piece_g: float = PIECE_G
    n_sessions: int | None = None
    minutes: float | None = None
    rate_per_min: float | None = None


@dataclass(frozen=True)
class Feeding:
    """The answer. method: the one to start from; split: None without the food's energy; grown_kcal: when grown."""

    pup: Pup
    method: EnergyMethod
    energy_kcal: float
    comparison: EnergyComparison
    grown_kcal: tuple[float, float] | None
    meals: MealRule
    split: DaySplit | None


def work_out(question: FeedingQuestion) -> Feeding:
    """Return how a pup might be fed: a place to start from.

    Raises: InvalidInput with everything that is missing or cannot be, at once.
    """
    problems = question_problems(question)
    if problems or question.weight_kg is None or question.age_weeks is None:
        raise InvalidInput(problems)
    pup = Pup(question.age_weeks, question.weight_kg, question.adult_weight_kg)
    comparison, method, meals = compare_methods(pup), usual_method(pup), meal_rule(pup)
    energy = comparison.of(method).energy_kcal or 0.0
    split = None
    if question.kcal_per_100g is not None:
        food = DayFood(energy, question.kcal_per_100g, meals.n_meals)
        split = split_day(food, _wishes(question), [_own_food(question)])
    grown = None if pup.adult_weight_kg is None else grown_kcal(pup.adult_weight_kg)
    return Feeding(pup, method, energy, comparison, grown, meals, split)


def question_problems(question: FeedingQuestion) -> list[Problem]:
    """Return everything that is missing or cannot be."""
    problems = [
        Problem(name, "The {what} is missing: energy goes by weight and age.", what=what)
        for name, what in (("weight_kg", "weight"), ("age_weeks", "age"))
        if getattr(question, name) is None
    ]
    weight_kg = MIN_WEIGHT_KG if question.weight_kg is None else question.weight_kg
    age_weeks = YOUNGEST_WEEKS if question.age_weeks is None else question.age_weeks
    problems += pup_problems(age_weeks, weight_kg, question.adult_weight_kg)
    problems += energy_problems(question.kcal_per_100g, LabelUnit.KCAL_PER_100G)
    problems += reward_problems(_own_food(question))
    n_sessions = USUAL_SESSIONS if question.n_sessions is None else question.n_sessions
    return [*problems, *sessions_problems(n_sessions), *wish_problems(_wish(question))]


def _own_food(question: FeedingQuestion) -> Reward:
    return Reward("its food", question.piece_g, question.kcal_per_100g, from_ration=True)


def _wish(question: FeedingQuestion) -> FoodWish:
    minutes = usual_minutes(question.age_weeks or YOUNGEST_WEEKS) if question.minutes is None else question.minutes
    return FoodWish(minutes, USUAL_RATE_PER_MIN if question.rate_per_min is None else question.rate_per_min)


def _wishes(question: FeedingQuestion) -> list[FoodWish]:
    return [_wish(question)] * (USUAL_SESSIONS if question.n_sessions is None else question.n_sessions)
