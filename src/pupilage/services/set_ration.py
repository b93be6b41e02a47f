"""Setting a dog's ration: by a method, by the weekly move, or by what somebody said."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.food.energy import EnergyMethod, compare_methods
from pupilage.core.care.food.rewards import grams_in
from pupilage.core.clock import local_day
from pupilage.core.errors import Conflict, InvalidInput
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.services.read_ration import basis_kcal, pup_of, read_ration
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.food import list_weighings


@dataclass(frozen=True)
class RationSet:
    """The ration now: grams a day, and the method that gave them, None where the grams are somebody's word."""

    daily_g: float
    method: EnergyMethod | None


def set_ration(actor: Actor, dog_id: UUID, method: EnergyMethod, *, now: datetime) -> RationSet:
    """Feed a dog by a method from now on: whole grams of its food. Who may: whoever may write. Idempotent.

    Raises InvalidInput with everything that is missing for it (weight, label, grown weight), and changes nothing then.
    """
    dog = dog_writable_by(actor, dog_id)
    today = local_day(now, actor.zone)
    pup, problems = pup_of(dog, list_weighings(dog), today)
    if pup is None:
        raise InvalidInput(problems)
    estimate = compare_methods(pup).of(method)
    if estimate.energy_kcal is None:
        raise InvalidInput.of("method", estimate.how.template, **estimate.how.figures)
    if not dog.food_kcal_per_100g:
        raise InvalidInput.of("food_kcal_per_100g", "The food's energy is missing: take it from the label first.")
    daily_g = float(round(grams_in(estimate.energy_kcal, dog.food_kcal_per_100g)))
    with transaction.atomic():
        Dog.objects.filter(id=dog.id).update(
            daily_food_g=daily_g,
            energy_method=method.value,
            ration_basis_kcal=estimate.energy_kcal,
            ration_set_on=today,
        )
        touch_day_plans(actor, dog.id, at=now, now=now)
        audit(actor, "set-ration", str(dog.id), now=now, method=method.value, from_g=dog.daily_food_g, to_g=daily_g)
    return RationSet(daily_g, method)


def move_ration_on(actor: Actor, dog_id: UUID, *, from_g: float, now: datetime) -> RationSet:
    """Take over the weekly move that the ration page proposes. Who may: whoever may write.

    from_g: the grams that the person saw; tapped twice, the second tap changes nothing and says so.
    Raises Conflict when the ration is another by now, is not due, or the veterinarian comes first.
    """
    dog = dog_writable_by(actor, dog_id)
    page = read_ration(actor, dog_id, now=now)
    if page.move is None or dog.daily_food_g is None or abs(dog.daily_food_g - from_g) > 0.5:
        raise Conflict("The ration is another by now; look at the page again.")
    if page.move.veterinarian is not None:
        raise Conflict(page.move.veterinarian.template, **page.move.veterinarian.figures)
    if page.not_due is not None:
        raise Conflict(page.not_due.template, **page.not_due.figures)
    now_kcal = None if page.comparison is None else basis_kcal(dog, page.comparison)
    daily_g = float(round(page.move.daily_g))
    with transaction.atomic():
        changed = Dog.objects.filter(id=dog.id, daily_food_g=dog.daily_food_g).update(
            daily_food_g=daily_g,
            ration_basis_kcal=None if now_kcal is None else now_kcal / page.move.left,
            ration_set_on=local_day(now, actor.zone),
        )
        if not changed:
            raise Conflict("The ration is another by now; look at the page again.")
        touch_day_plans(actor, dog.id, at=now, now=now)
        audit(actor, "move-ration", str(dog.id), now=now, from_g=dog.daily_food_g, to_g=daily_g)
    return RationSet(daily_g, page.energy_method)
