"""What a day's food is asked to pay: the food itself, and what each session wants of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.care.food.rewards import Reward, grams_in, reward_problems
from pupilage.core.errors import Problem

USUAL_SESSIONS = 4
MOST_SESSIONS = 12
USUAL_MINUTES_BELOW_WEEKS = ((12.0, 3.0),)
USUAL_MINUTES_LATER = 4.0
"""Common practice: one to three minutes at 8 to 12 weeks, three to five later."""

USUAL_RATE_PER_MIN = 10.0
"""Rewards a minute that are usual while teaching (trade practice, not measured): 10 to 15."""

BOWL_FLOOR = 0.5
"""An assumption of ours: at least half of the day's food is eaten from the bowl, whatever the plan asks for."""

MOST_RATE_PER_MIN = 30.0


@dataclass(frozen=True)
class DayFood:
    """The food of a day: energy_kcal and n_meals above 0; kcal_per_100g of the food.

    bowl_floor: the least share of the food that stays in the bowl, 0.5 to 1.
    """

    energy_kcal: float
    kcal_per_100g: float
    n_meals: int
    bowl_floor: float = BOWL_FLOOR

    @property
    def daily_g(self) -> float:
        """The day's food in grams, without any treats."""
        return grams_in(self.energy_kcal, self.kcal_per_100g)


@dataclass(frozen=True)
class FoodWish:
    """What a session wants. minutes above 0; rate_per_min, rewards a minute, 0 to 30.

    hard: gets the best treat first; reinforcer: a name, "" for the split to choose; after_meal: 0 is the first meal,
    None spreads the sessions evenly over the meals in their order.
    """

    minutes: float
    rate_per_min: float = USUAL_RATE_PER_MIN
    hard: bool = False
    reinforcer: str = ""
    after_meal: int | None = None

    @property
    def n_rewards(self) -> int:
        return math.ceil(round(self.minutes * self.rate_per_min, 9))


def split_problems(food: DayFood, wishes: Sequence[FoodWish], rewards: Sequence[Reward]) -> list[Problem]:
    """Return everything that is wrong with what a split is asked for."""
    problems = []
    for name, value in (("energy_kcal", food.energy_kcal), ("kcal_per_100g", food.kcal_per_100g)):
        if not 0.0 < value < math.inf:
            problems.append(Problem(name, "{given} kcal cannot be; give a number above 0.", given=value))
    if not 1 <= food.n_meals <= 8:
        problems.append(Problem("n_meals", "{n} meals a day cannot be; give 1 to 8.", n=food.n_meals))
    if not BOWL_FLOOR <= food.bowl_floor <= 1.0:
        problems.append(
            Problem(
                "bowl_floor",
                "At least {floor:.0f} % of the food stays in the bowl; {given:.0f} % cannot be chosen.",
                floor=100 * BOWL_FLOOR,
                given=100 * food.bowl_floor,
            )
        )
    problems += [problem for wish in wishes for problem in wish_problems(wish)]
    return [*problems, *(problem for reward in rewards for problem in reward_problems(reward))]


def wish_problems(wish: FoodWish) -> list[Problem]:
    """Return what is wrong with what a session wants."""
    problems = []
    if wish.after_meal is not None and wish.after_meal < 0:
        problems.append(Problem("sessions", "{n} is no meal; the first one is 0.", n=wish.after_meal))
    if 0.0 < wish.minutes <= 60.0 and 0.0 <= wish.rate_per_min <= MOST_RATE_PER_MIN:
        return problems
    return [
        *problems,
        Problem(
            "sessions",
            "A session of {minutes} min with {rate} rewards a minute cannot be; give up to 60 min and up to {most:.0f} "
            "a minute.",
            minutes=wish.minutes,
            rate=wish.rate_per_min,
            most=MOST_RATE_PER_MIN,
        ),
    ]


def sessions_problems(n_sessions: int) -> list[Problem]:
    """Return what is wrong with a number of sessions a day."""
    if 0 <= n_sessions <= MOST_SESSIONS:
        return []
    return [Problem("sessions", "Give a number of sessions from 0 to {most}, not {n}.", n=n_sessions,
                    most=MOST_SESSIONS)]  # fmt: skip


def usual_minutes(age_weeks: float) -> float:
    """Return how long a session usually is at an age, in minutes."""
    return next((minutes for below, minutes in USUAL_MINUTES_BELOW_WEEKS if age_weeks < below), USUAL_MINUTES_LATER)
