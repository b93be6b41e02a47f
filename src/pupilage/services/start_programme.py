"""The intake: household, pup, resident dog, family, dates, diet, in one go."""

from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.food.pup import adult_below_now
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.units import MAX_WEIGHT_KG, MIN_WEIGHT_KG
from pupilage.services.auditing import audit
from pupilage.services.pool_earlier_dogs import pool_earlier_dogs
from pupilage.storage.models import Dog, Household, Programme, Reinforcer, VetDate, Weight

MAX_STAY_DAYS = 180
MAX_SESSIONS_A_DAY = 12
MAX_AGE_WEEKS = 60.0
MIN_AGE_WEEKS = 6.0


@dataclass(frozen=True)
class NewDog:
    """A dog at intake. weight_kg and expected_adult_weight_kg in kilograms; daily_food_g in grams."""

    name: str
    born_on: date
    sex: str = ""
    breed: str = ""
    weight_kg: float | None = None
    expected_adult_weight_kg: float | None = None
    food_name: str = ""
    daily_food_g: float | None = None
    food_kcal_per_100g: float | None = None
    signs: str = ""


@dataclass(frozen=True)
class NewReinforcer:
    """A reinforcer: grams a piece, kcal per 100 g, and whether it comes out of the weighed ration."""

    name: str
    piece_g: float
    kcal_per_100g: float | None = None
    from_ration: bool = False


@dataclass(frozen=True)
class Intake:
    """What the trainer says on the first day."""

    household: str
    pup: NewDog
    arrival_on: date
    handover_on: date
    sessions_a_day: int = 4
    people: str = ""
    family: str = ""
    resident: NewDog | None = None
    vet_dates: tuple[tuple[date, str], ...] = ()
    reinforcers: tuple[NewReinforcer, ...] = field(default=())


def start_programme(actor: Actor, intake: Intake, *, now: datetime) -> UUID:
    """Write a household, its dogs and a programme; return the programme's id. Who may: whoever may write.

    What is expected of the pup is taken from earlier stays, where there are enough, and kept with this one.
    Raises InvalidInput with every problem at once, and then writes nothing.
    """
    actor.require_write()
    today = local_day(now, actor.zone)
    problems = intake_problems(intake, today=today)
    if problems:
        raise InvalidInput(problems)
    shape = pool_earlier_dogs(actor, today=today)  # may take seconds: outside the transaction
    with transaction.atomic():
        household = Household.objects.create(
            workspace_id=actor.workspace_id, name=intake.household, people=intake.people
        )
        pup = _add_dog(actor, household, intake.pup, resident=False, now=now)
        if intake.resident is not None:
            _add_dog(actor, household, intake.resident, resident=True, now=now)
        family = None
        if intake.family:
            family = Household.objects.create(workspace_id=actor.workspace_id, name=intake.family, is_family=True)
        programme = Programme.objects.create(
            workspace_id=actor.workspace_id,
            dog=pup,
            family=family,
            arrival_on=intake.arrival_on,
            handover_on=intake.handover_on,
            sessions_a_day=intake.sessions_a_day,
            prior_shape=None if shape is None else shape.to_json(),
        )
        for on, what in intake.vet_dates:
            VetDate.objects.create(workspace_id=actor.workspace_id, dog=pup, on=on, what=what)
        for reinforcer in intake.reinforcers:
            _add_reinforcer(actor, reinforcer)
        audit(actor, "start-programme", str(programme.id), now=now)
    return programme.id


def _add_dog(actor: Actor, household: Household, dog: NewDog, *, resident: bool, now: datetime) -> Dog:
    row = Dog.objects.create(
        workspace_id=actor.workspace_id,
        household=household,
        name=dog.name,
        sex=dog.sex,
        breed=dog.breed,
        born_on=dog.born_on,
        is_resident=resident,
        food_name=dog.food_name,
        daily_food_g=dog.daily_food_g,
        food_kcal_per_100g=dog.food_kcal_per_100g,
        expected_adult_weight_kg=dog.expected_adult_weight_kg,
        signs=dog.signs,
    )
    if dog.weight_kg is not None:
        Weight.objects.create(workspace_id=actor.workspace_id, dog=row, at=now, weight_kg=dog.weight_kg)
    return row


def _add_reinforcer(actor: Actor, reinforcer: NewReinforcer) -> None:
    Reinforcer.objects.get_or_create(
        workspace_id=actor.workspace_id,
        name=reinforcer.name,
        defaults={
            "piece_g": reinforcer.piece_g,
            "kcal_per_100g": reinforcer.kcal_per_100g,
            "from_ration": reinforcer.from_ration,
        },
    )


def intake_problems(intake: Intake, *, today: date) -> list[Problem]:
    """Return everything that is wrong with an intake."""
    problems = stay_problems(intake.arrival_on, intake.handover_on, intake.sessions_a_day, today=today)
    problems += dog_problems("pup.", intake.pup, today)
    if not intake.household.strip():
        problems.append(Problem("household", "The household needs a name; your own will do."))
    age = age_weeks(intake.pup.born_on, intake.arrival_on)
    if not MIN_AGE_WEEKS <= age <= MAX_AGE_WEEKS:
        problems.append(
            Problem(
                "pup.born_on",
                "The pup would be {age:.0f} weeks old on arrival; Pupilage is made for {low:.0f} to {high:.0f} "
                "weeks. Check the date of birth and the arrival.",
                age=age,
                low=MIN_AGE_WEEKS,
                high=MAX_AGE_WEEKS,
            )
        )
    if intake.resident is not None:
        problems += dog_problems("resident.", intake.resident, today)
    return problems


def stay_problems(arrival_on: date, handover_on: date, sessions_a_day: int, *, today: date) -> list[Problem]:
    """Return everything that is wrong with the frame of a stay."""
    problems = []
    if not 1 <= sessions_a_day <= MAX_SESSIONS_A_DAY:
        problems.append(Problem("sessions_a_day", "Give a number of short sessions a day from 1 to 12."))
    stay = (handover_on - arrival_on).days
    if stay <= 0:
        problems.append(
            Problem(
                "handover_on",
                "The hand-over ({handover}) must come after the arrival ({arrival}).",
                handover=handover_on.isoformat(),
                arrival=arrival_on.isoformat(),
            )
        )
    elif stay > MAX_STAY_DAYS:
        problems.append(
            Problem("handover_on", "{n} days is longer than {most}; check the year.", n=stay, most=MAX_STAY_DAYS)
        )
    elif handover_on < today:
        problems.append(Problem("handover_on", "The hand-over is in the past; check the year."))
    return problems


def dog_problems(where: str, dog: NewDog, today: date) -> list[Problem]:
    """Return everything that is wrong with what is said of a dog; `where` begins the name of each field."""
    problems = []
    if not dog.name.strip():
        problems.append(Problem(f"{where}name", "The dog needs a name."))
    if dog.born_on > today:
        problems.append(Problem(f"{where}born_on", "The date of birth is in the future; check the year."))
    for name in ("weight_kg", "expected_adult_weight_kg"):
        weight = getattr(dog, name)
        if weight is not None and not MIN_WEIGHT_KG <= weight <= MAX_WEIGHT_KG:
            problems.append(
                Problem(
                    f"{where}{name}",
                    "{given:g} kg cannot be a dog's weight; give a number between {low:g} and {high:g} kg.",
                    given=weight,
                    low=MIN_WEIGHT_KG,
                    high=MAX_WEIGHT_KG,
                )
            )
    if _grown_below_now(dog):
        problem = adult_below_now(dog.expected_adult_weight_kg or 0.0, dog.weight_kg or 0.0)
        problems.append(
            Problem(f"{where}expected_adult_weight_kg", problem.sentence.template, **problem.sentence.figures)
        )
    if dog.daily_food_g is not None and not 0 < dog.daily_food_g <= 3000:
        problems.append(
            Problem(f"{where}daily_food_g", "{n:g} g a day cannot be; give grams a day.", n=dog.daily_food_g)
        )
    return problems


def _grown_below_now(dog: NewDog) -> bool:
    now, grown = dog.weight_kg, dog.expected_adult_weight_kg
    return now is not None and grown is not None and MIN_WEIGHT_KG <= grown < now <= MAX_WEIGHT_KG
