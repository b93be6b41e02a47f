"""What a dog's page and its care log show."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.events import CareEvent
from pupilage.core.clock import age_weeks, day_bounds
from pupilage.core.incidents.lasting import TOGETHER_WITHIN, OddTap, read_lasting
from pupilage.core.incidents.record import Incident
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import dog_readable_by, dogs_readable_by, list_care_events
from pupilage.storage.queries.incidents import list_incidents


@dataclass(frozen=True)
class WeightLine:
    """A weighing; body_condition 1 to 9, None where it was not judged."""

    at: datetime
    weight_kg: float
    body_condition: int | None = None


@dataclass(frozen=True)
class DogCard:
    """Who a dog is. Weights in kilograms, food in grams a day and kcal per 100 g."""

    id: UUID
    name: str
    sex: str
    breed: str
    born_on: date
    is_resident: bool
    food_name: str
    daily_food_g: float | None
    food_kcal_per_100g: float | None
    food_label_unit: str
    food_analysis: Mapping[str, float] | None
    expected_adult_weight_kg: float | None
    adult_weight_from: str
    signs: str


@dataclass(frozen=True)
class DogPage:
    """A dog: who it is, its weights (newest first), veterinarian's dates, incidents, programmes."""

    dog: DogCard
    household: str
    age_weeks: float
    weights: tuple[WeightLine, ...]
    vet_dates: tuple[tuple[date, str], ...]
    incidents: tuple[Incident, ...]
    programmes: tuple[ProgrammeHead, ...]


@dataclass(frozen=True)
class CareDay:
    """One local day of the care log, newest entry first. odd: taps of what lasts that the rule had to judge."""

    dog: DogCard
    day: date
    events: tuple[CareEvent, ...]
    incidents: tuple[Incident, ...]
    odd: tuple[OddTap, ...] = ()


def list_dogs(actor: Actor) -> list[DogCard]:
    """Return the dogs of the workspace, by name."""
    return [_card(dog) for dog in dogs_readable_by(actor)]


def read_dog(actor: Actor, dog_id: UUID, *, now: datetime) -> DogPage:
    """Return a dog's page. Who may: whoever may read. Raises NotFound."""
    dog = dog_readable_by(actor, dog_id)
    programmes = dog.programmes.select_related("dog", "family").order_by("-arrival_on")
    return DogPage(
        dog=_card(dog),
        household=dog.household.name,
        age_weeks=age_weeks(dog.born_on, now.astimezone(actor.zone).date()),
        weights=tuple(WeightLine(row.at, row.weight_kg, row.body_condition) for row in dog.weights.order_by("-at")),
        vet_dates=tuple((row.on, row.what) for row in dog.vet_dates.order_by("on")),
        incidents=tuple(list_incidents(dog, limit=20)),
        programmes=tuple(head_of(actor, programme, now=now) for programme in programmes),
    )


def read_care_day(actor: Actor, dog_id: UUID, day: date) -> CareDay:
    """Return one local day of a dog's care log. Who may: whoever may read. Raises NotFound."""
    dog = dog_readable_by(actor, dog_id)
    start, end = day_bounds(day, actor.zone)
    events = list_care_events(dog, since=start - TOGETHER_WITHIN, until=end)
    odd = read_lasting(events, actor.zone).odd
    return CareDay(
        dog=_card(dog),
        day=day,
        events=tuple(event for event in reversed(events) if event.at >= start),
        odd=tuple(one for one in odd if one.at >= start),
        incidents=tuple(line for line in list_incidents(dog) if start <= line.at < end),
    )


def _card(dog: Dog) -> DogCard:
    return DogCard(**{field.name: getattr(dog, field.name) for field in fields(DogCard)})
