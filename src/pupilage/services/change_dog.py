"""Putting right what is said of a dog, and noting that the veterinarian has seen to its signs."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.services.start_programme import NewDog, dog_problems
from pupilage.storage.queries.dogs import dog_writable_by


@dataclass(frozen=True)
class DogFacts:
    """What can be put right. Food in grams a day and kcal per 100 g, the adult weight in kilograms."""

    name: str
    born_on: date
    breed: str = ""
    food_name: str = ""
    daily_food_g: float | None = None
    food_kcal_per_100g: float | None = None
    expected_adult_weight_kg: float | None = None


def change_dog(actor: Actor, dog_id: UUID, facts: DogFacts, *, signs_settled: bool, now: datetime) -> None:
    """Write what is said of a dog anew. Idempotent. The audit keeps signs that are settled.

    Who may: whoever may write. Raises InvalidInput with every problem at once, and then changes nothing.
    """
    dog = dog_writable_by(actor, dog_id)
    said = NewDog(
        name=facts.name,
        born_on=facts.born_on,
        daily_food_g=facts.daily_food_g,
        expected_adult_weight_kg=facts.expected_adult_weight_kg,
    )
    problems = dog_problems("", said, local_day(now, actor.zone))
    if facts.food_kcal_per_100g is not None and not 0 < facts.food_kcal_per_100g <= 900:
        problems.append(
            Problem("food_kcal_per_100g", "{n:g} kcal per 100 g is no food; see its label.", n=facts.food_kcal_per_100g)
        )
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        settled = dog.signs if signs_settled else ""
        for name, value in vars(facts).items():
            setattr(dog, name, value)
        if signs_settled:
            dog.signs = ""
        dog.save(update_fields=[*vars(facts), "signs"])
        touch_day_plans(actor, dog.id, at=now, now=now)
        audit(actor, "change-dog", str(dog.id), now=now, settled=settled)
