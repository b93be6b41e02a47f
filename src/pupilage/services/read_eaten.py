"""Something was eaten that may harm: whom to call, and what is described at such a dose."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.food.doses import DoseAnswer, answer_dose, find_eaten
from pupilage.core.errors import InvalidInput
from pupilage.services.read_programme import find_current
from pupilage.storage.models import Workspace
from pupilage.storage.queries.dogs import dog_readable_by, dogs_readable_by
from pupilage.storage.queries.food import list_weighings


@dataclass(frozen=True)
class WhoAte:
    """A dog of the workspace with its last weight in kilograms, None where it was never weighed."""

    id: UUID
    name: str
    weight_kg: float | None


@dataclass(frozen=True)
class EatenPage:
    """Whom to call, as the trainer typed it, and the dogs, the pup of the stay that runs first."""

    vet_phone: str
    poison_phone: str
    dogs: tuple[WhoAte, ...]


@dataclass(frozen=True)
class EatenQuestion:
    """What (a key of `doses.list_eaten`), how much in its unit, and which dog; weight_kg: typed, else its last."""

    what: str
    amount: float | None = None
    dog_id: UUID | None = None
    weight_kg: float | None = None


def read_eaten(actor: Actor, *, now: datetime) -> EatenPage:
    """Return whom to call and which dogs there are. Who may: whoever may read."""
    workspace = Workspace.objects.get(id=actor.workspace_id)
    current = find_current(actor, now=now)
    dogs = sorted(dogs_readable_by(actor), key=lambda dog: current is None or dog.id != current.dog_id)
    return EatenPage(
        vet_phone=workspace.vet_phone,
        poison_phone=workspace.poison_phone,
        dogs=tuple(WhoAte(dog.id, dog.name, _weight_kg(actor, dog.id)) for dog in dogs),
    )


def answer_eaten(actor: Actor, question: EatenQuestion) -> DoseAnswer:
    """Return what is described at a dose. Nothing is written. Who may: whoever may read.

    Raises InvalidInput with every figure that cannot be; whoever shows that shows the fixed words with it.
    """
    eaten = find_eaten(question.what)
    if eaten is None:
        raise InvalidInput.of("what", "Choose what it has eaten; “Something else” is at the end of the list.")
    weight_kg = question.weight_kg
    if weight_kg is None and question.dog_id is not None:
        weight_kg = _weight_kg(actor, question.dog_id)
    return answer_dose(eaten, amount=question.amount, weight_kg=weight_kg)


def _weight_kg(actor: Actor, dog_id: UUID) -> float | None:
    weighings = list_weighings(dog_readable_by(actor, dog_id))
    return weighings[-1].weight_kg if weighings else None
