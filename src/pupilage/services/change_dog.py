"""Putting right what is said of a dog, and noting that the veterinarian has seen to its signs."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.food.energy import compare_methods
from pupilage.core.care.food.growth import Weighing
from pupilage.core.care.food.label import FoodLabel, LabelUnit, read_label
from pupilage.core.care.food.pup import AdultWeightSource, adult_below_now
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.services.read_ration import basis_kcal, pup_of
from pupilage.services.start_programme import NewDog, dog_problems
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.food import list_weighings


@dataclass(frozen=True)
class DogFacts:
    """What can be put right. Food in grams a day, its label as printed, the adult weight in kilograms.

    analysis: protein, fat, fibre, moisture and ash in per cent as fed, by name; None for what the label leaves out.
    """

    name: str
    born_on: date
    breed: str = ""
    food_name: str = ""
    daily_food_g: float | None = None
    label_energy: float | None = None
    label_unit: LabelUnit = LabelUnit.KCAL_PER_100G
    analysis: Mapping[str, float | None] = field(default_factory=dict)
    expected_adult_weight_kg: float | None = None
    adult_weight_from: AdultWeightSource = AdultWeightSource.UNKNOWN


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
    today = local_day(now, actor.zone)
    label, wrong_label = read_label(facts.label_energy, facts.label_unit, facts.analysis)
    weighings = list_weighings(dog)
    problems = dog_problems("", said, today) + wrong_label + _grown_problems(facts, weighings)
    if problems:
        raise InvalidInput(problems)
    before_g = dog.daily_food_g
    with transaction.atomic():
        settled = dog.signs if signs_settled else ""
        changed = _lay_over(dog, facts, label)
        if facts.daily_food_g != before_g:
            changed += _set_by_hand(dog, weighings, today)
        if signs_settled:
            dog.signs = ""
        dog.save(update_fields=[*changed, "signs"])
        touch_day_plans(actor, dog.id, at=now, now=now)
        audit(actor, "change-dog", str(dog.id), now=now, settled=settled)


def _grown_problems(facts: DogFacts, weighings: list[Weighing]) -> list[Problem]:
    adult = facts.expected_adult_weight_kg
    if adult is None or not weighings or adult >= weighings[-1].weight_kg:
        return []
    problem = adult_below_now(adult, weighings[-1].weight_kg)
    return [Problem("expected_adult_weight_kg", problem.sentence.template, **problem.sentence.figures)]


def _set_by_hand(dog: Dog, weighings: list[Weighing], today: date) -> list[str]:
    """Note that the grams are somebody's word from today on: no method stands behind them, but they grow with it."""
    dog.energy_method = ""
    pup, _ = pup_of(dog, weighings, today)
    dog.ration_basis_kcal = None if pup is None else basis_kcal(dog, compare_methods(pup))
    dog.ration_set_on = today
    return ["energy_method", "ration_basis_kcal", "ration_set_on"]


def _lay_over(dog: Dog, facts: DogFacts, label: FoodLabel) -> list[str]:
    """Write the facts over the dog and return the names of what may have changed."""
    changes: dict[str, Any] = {
        "name": facts.name,
        "born_on": facts.born_on,
        "breed": facts.breed,
        "food_name": facts.food_name,
        "daily_food_g": facts.daily_food_g,
        "food_kcal_per_100g": label.kcal_per_100g,
        "food_label_unit": "" if label.kcal_per_100g is None else label.unit.value,
        "food_analysis": None if label.analysis is None else asdict(label.analysis),
        "expected_adult_weight_kg": facts.expected_adult_weight_kg,
        "adult_weight_from": facts.adult_weight_from.value,
    }
    for name, value in changes.items():
        setattr(dog, name, value)
    return list(changes)
