"""A day's food for the sessions that are planned: what each meal holds, and what each session is paid with."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.food.demand import MOST_RATE_PER_MIN, USUAL_RATE_PER_MIN, DayFood, FoodWish
from pupilage.core.care.food.energy import compare_methods
from pupilage.core.care.food.split import DaySplit, rewards_a_day, split_day
from pupilage.core.clock import local_day
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.services.read_ration import day_food_of, pup_of
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.food import list_rewards, list_weighings

HARD_DISTRACTION = 3
"""From here on what happens around competes with the food (see the catalogue's distractions); an assumption."""


def split_food(
    actor: Actor, dog_id: UUID, sessions: Sequence[PlannedSession], *, now: datetime, n_meals: int | None = None
) -> DaySplit | None:
    """Return the split of a dog's food for these sessions, in their order. Who may: whoever may read. Raises NotFound.

    None where there is no weight, no age for a ration or no label: then meals stay as they are. n_meals: the trainer's
    own number, else by age.
    """
    dog = dog_readable_by(actor, dog_id)
    food = _food(actor, dog, now)
    if food is None:
        return None
    wishes = [wish_of(session) for session in sessions]
    return split_day(food if n_meals is None else replace(food, n_meals=n_meals), wishes, list_rewards(actor, dog))


def count_rewards(actor: Actor, dog_id: UUID, *, now: datetime) -> int | None:
    """Return how many rewards a dog's food can pay in a day, None as above. Who may: whoever may read."""
    dog = dog_readable_by(actor, dog_id)
    food = _food(actor, dog, now)
    return None if food is None else rewards_a_day(food, list_rewards(actor, dog))


def wish_of(session: PlannedSession) -> FoodWish:
    """Return what a planned session wants: its own number of rewards, else the usual rate.

    Hard, and so paid with what the pup likes best: a new place or person, or a distraction of 3 and more.
    """
    rate = session.pieces / session.minutes if session.pieces else USUAL_RATE_PER_MIN
    return FoodWish(
        minutes=session.minutes,
        rate_per_min=min(MOST_RATE_PER_MIN, rate),
        hard=session.purpose is Purpose.ELSEWHERE or session.distraction >= HARD_DISTRACTION,
        reinforcer=session.reinforcer,
    )


def _food(actor: Actor, dog: Dog, now: datetime) -> DayFood | None:
    pup, _ = pup_of(dog, list_weighings(dog), local_day(now, actor.zone))
    return None if pup is None else day_food_of(dog, pup, compare_methods(pup))
