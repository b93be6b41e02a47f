"""What a dog's ration page shows: its energy by every method, today's split, the day so far, the next move."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.food.condition import RationMove, move_ration, not_due
from pupilage.core.care.food.demand import (
    BOWL_FLOOR,
    USUAL_RATE_PER_MIN,
    USUAL_SESSIONS,
    DayFood,
    FoodWish,
    usual_minutes,
)
from pupilage.core.care.food.energy import EnergyComparison, EnergyMethod, compare_methods, grown_kcal, usual_method
from pupilage.core.care.food.growth import TypicalWeight, Weighing, doubt_figures, growth_warning, typical_weight
from pupilage.core.care.food.label import Analysis, growth_food_sentence
from pupilage.core.care.food.meals import MealRule, meal_rule
from pupilage.core.care.food.pup import AdultWeightSource, Pup, fraction_sentence
from pupilage.core.care.food.ration import RunningTotal
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.food.split import DaySplit, split_day
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.words import Sentence
from pupilage.services.read_care_panel import read_care_panel
from pupilage.storage.models import Dog, Programme
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.food import list_rewards, list_weighings

HARD_EVERY = 3
"""An assumption: of like sessions, one in three is a hard one."""


@dataclass(frozen=True)
class Wanted:
    """The training that the day's food is asked to pay: sessions, minutes each, rewards a minute; None: as usual."""

    n_sessions: int | None = None
    minutes: float | None = None
    rate_per_min: float | None = None


@dataclass(frozen=True)
class MethodLine:
    """A method's energy and grams of the pup's food (None without the food's energy); chosen: by the trainer."""

    method: EnergyMethod
    energy_kcal: float | None
    low_kcal: float | None
    high_kcal: float | None
    grams: float | None
    chosen: bool
    confirmed: bool
    how: Sentence


@dataclass(frozen=True)
class RationPage:
    """A dog's food. problems: why its energy cannot be worked out, empty when it can; pup, comparison are None then.

    grown_words: how far it is grown; doubt: why its age or grown weight may be wrong; food_words: its energy against
    what is advised for growth; move: what the ration should become; not_due: why not today; set_on: when it was set
    last; plan: what was wanted; split: None without a ration and its energy; bowl_floor: the share of the food that
    stays in the bowl at least.
    """

    dog_id: UUID
    dog: str
    age_weeks: float
    daily_food_g: float | None
    food_name: str
    kcal_per_100g: float | None
    energy_method: EnergyMethod | None
    set_on: date | None
    weighing: Weighing | None
    problems: tuple[Problem, ...]
    pup: Pup | None
    comparison: EnergyComparison | None
    methods: tuple[MethodLine, ...]
    usual: EnergyMethod | None
    grown_kcal: tuple[float, float] | None
    grown_words: Sentence | None
    typical: TypicalWeight | None
    doubt: Sentence | None
    meals: MealRule | None
    total: RunningTotal | None
    plan: Wanted
    split: DaySplit | None
    split_problems: tuple[Problem, ...]
    food_words: Sentence | None
    move: RationMove | None
    not_due: Sentence | None
    rewards: tuple[Reward, ...]
    bowl_floor: float = BOWL_FLOOR


def read_ration(actor: Actor, dog_id: UUID, wanted: Wanted | None = None, *, now: datetime) -> RationPage:
    """Return a dog's ration page. Who may: whoever may read. Raises NotFound; what cannot be is told in the page."""
    dog = dog_readable_by(actor, dog_id)
    today = local_day(now, actor.zone)
    weighings = list_weighings(dog)
    pup, problems = pup_of(dog, weighings, today)
    comparison = None if pup is None else compare_methods(pup)
    typical = _typical(pup)
    plan = _plan(actor, dog, wanted or Wanted(), age_weeks(dog.born_on, today))
    rewards = list_rewards(actor, dog)
    split, split_problems = _split(dog, pup, comparison, plan, rewards)
    move = _move(actor, dog, weighings, comparison)
    return RationPage(
        dog_id=dog.id,
        dog=dog.name,
        age_weeks=age_weeks(dog.born_on, today),
        daily_food_g=dog.daily_food_g,
        food_name=dog.food_name,
        kcal_per_100g=dog.food_kcal_per_100g,
        energy_method=chosen_method(dog),
        set_on=dog.ration_set_on,
        weighing=weighings[-1] if weighings else None,
        problems=tuple(problems),
        pup=pup,
        comparison=comparison,
        methods=() if comparison is None else tuple(_lines(dog, comparison)),
        usual=None if pup is None else usual_method(pup),
        grown_kcal=None if dog.expected_adult_weight_kg is None else grown_kcal(dog.expected_adult_weight_kg),
        grown_words=None if pup is None else fraction_sentence(pup),
        typical=typical,
        doubt=None if pup is None or typical is None else doubt_figures(pup.weight_kg, typical),
        meals=None if pup is None else meal_rule(pup),
        total=read_care_panel(actor, dog_id, now=now).ration,
        plan=plan,
        split=split,
        split_problems=tuple(split_problems),
        food_words=_food_words(dog),
        move=move,
        not_due=move_not_due(actor, dog, weighings, today),
        rewards=tuple(rewards),
    )


def pup_of(dog: Dog, weighings: list[Weighing], today: date) -> tuple[Pup | None, list[Problem]]:
    """Return the pup to be fed, or None and everything that is wrong or missing."""
    if not weighings:
        return None, [Problem("weight_kg", "There is no weight yet: weigh the pup, then its energy can be worked out.")]
    try:
        return Pup(
            age_weeks=age_weeks(dog.born_on, today),
            weight_kg=weighings[-1].weight_kg,
            adult_weight_kg=dog.expected_adult_weight_kg,
            adult_from=AdultWeightSource(dog.adult_weight_from),
        ), []
    except InvalidInput as error:
        return None, list(error.problems)


def chosen_method(dog: Dog) -> EnergyMethod | None:
    """Return the trainer's method, None while the grams are somebody's word."""
    return EnergyMethod(dog.energy_method) if dog.energy_method else None


def basis_kcal(dog: Dog, comparison: EnergyComparison) -> float | None:
    """Return what the method in use gives now: the chosen one, else the growth bands, else by age."""
    chosen = chosen_method(dog)
    for method in (chosen, EnergyMethod.GROWTH_BANDS, EnergyMethod.RESTING_BY_AGE):
        if method is not None and (energy := comparison.of(method).energy_kcal) is not None:
            return energy
    return None


def move_not_due(actor: Actor, dog: Dog, weighings: list[Weighing], today: date) -> Sentence | None:
    """Return why the ration is not moved today, None when it may be."""
    weighed_on = local_day(weighings[-1].at, actor.zone) if weighings else None
    return not_due(dog.ration_set_on, weighed_on, today)


def _move(actor: Actor, dog: Dog, weighings: list[Weighing], comparison: EnergyComparison | None) -> RationMove | None:
    if dog.daily_food_g is None:
        return None
    now_kcal = None if comparison is None else basis_kcal(dog, comparison)
    before_kcal = dog.ration_basis_kcal or _first_basis_kcal(actor, dog, weighings)
    need = 1.0 if now_kcal is None or before_kcal is None else now_kcal / before_kcal
    growth = growth_warning(
        weighings,
        born_at=datetime.combine(dog.born_on, time.min, tzinfo=UTC),
        adult_weight_kg=dog.expected_adult_weight_kg,
    )
    return move_ration(dog.daily_food_g, weighings, need_factor=need, growth=growth)


def _first_basis_kcal(actor: Actor, dog: Dog, weighings: list[Weighing]) -> float | None:
    """Return what the method gave for the first weighing: grams of the intake count as said for that weight."""
    if not weighings or dog.ration_set_on is not None:
        return None
    first, _ = pup_of(dog, weighings[:1], local_day(weighings[0].at, actor.zone))
    return None if first is None else basis_kcal(dog, compare_methods(first))


def _lines(dog: Dog, comparison: EnergyComparison) -> list[MethodLine]:
    density = dog.food_kcal_per_100g
    return [
        MethodLine(
            method=one.method,
            energy_kcal=one.energy_kcal,
            low_kcal=one.low_kcal,
            high_kcal=one.high_kcal,
            grams=100.0 * one.energy_kcal / density if density and one.energy_kcal is not None else None,
            chosen=one.method.value == dog.energy_method,
            confirmed=one.confirmed,
            how=one.how,
        )
        for one in comparison.estimates
    ]


def _food_words(dog: Dog) -> Sentence | None:
    if not dog.food_kcal_per_100g or dog.food_analysis is None:
        return None
    return growth_food_sentence(dog.food_kcal_per_100g, Analysis(**dog.food_analysis))


def _typical(pup: Pup | None) -> TypicalWeight | None:
    if pup is None or pup.adult_weight_kg is None:
        return None
    return typical_weight(pup.age_weeks, pup.adult_weight_kg)


def _plan(actor: Actor, dog: Dog, wanted: Wanted, weeks: float) -> Wanted:
    planned = (
        Programme.objects.filter(workspace_id=actor.workspace_id, dog=dog)
        .order_by("-arrival_on")
        .values_list("sessions_a_day", flat=True)
        .first()
    )
    return Wanted(
        n_sessions=wanted.n_sessions if wanted.n_sessions is not None else planned or USUAL_SESSIONS,
        minutes=wanted.minutes if wanted.minutes is not None else usual_minutes(weeks),
        rate_per_min=wanted.rate_per_min if wanted.rate_per_min is not None else USUAL_RATE_PER_MIN,
    )


def _split(
    dog: Dog, pup: Pup | None, comparison: EnergyComparison | None, plan: Wanted, rewards: list[Reward]
) -> tuple[DaySplit | None, list[Problem]]:
    if pup is None or comparison is None:
        return None, []
    food = day_food_of(dog, pup, comparison)
    if food is None:
        return None, [Problem("food_kcal_per_100g", "The food's energy is missing: take it from the label.")]
    try:
        return split_day(food, wishes_of(plan), rewards), []
    except InvalidInput as error:
        return None, list(error.problems)


def day_food_of(dog: Dog, pup: Pup, comparison: EnergyComparison) -> DayFood | None:
    """Return a day's food: the grams that are fed, else the usual method's energy; None without the label's energy."""
    density = dog.food_kcal_per_100g
    if not density:
        return None
    energy = dog.daily_food_g * density / 100.0 if dog.daily_food_g else comparison.of(usual_method(pup)).energy_kcal
    return DayFood(energy or 0.0, density, meal_rule(pup).n_meals)


def wishes_of(plan: Wanted) -> list[FoodWish]:
    """Return a day of like sessions, every third of them a hard one."""
    return [
        FoodWish(plan.minutes or 0.0, plan.rate_per_min or 0.0, hard=n % HARD_EVERY == HARD_EVERY - 1)
        for n in range(plan.n_sessions or 0)
    ]
