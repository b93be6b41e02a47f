"""Who is in the scenario: the trainer, the household, the family, and the two dogs. All names are invented."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from numpy.random import Generator

from pupilage.core.simulation.chance import between, pick, whole
from pupilage.core.simulation.scenario import ScenarioDog, ScenarioReinforcer, ScenarioVetDate
from pupilage.core.simulation.stay import DAYS_DONE, Stay

TRAINERS = ("Ines", "Maren", "Tobi", "Anouk", "Ravi")
HOUSEHOLDS = ("The house by the mill", "The house on the corner", "The flat above the bakery")
FAMILIES = ("Nora, Jon and the twins", "Lena, Paul and Mia", "Sam, Aisha and two children")
PUPS = ("Moss", "Tansy", "Pip", "Wren", "Juno")
RESIDENTS = ("Hazel", "Otto", "Bracken", "Nell")

FOOD_KCAL_PER_100G = 370.0
"""A kibble for growing dogs. Within the usual 350 to 400 kcal per 100 g; from memory, the label decides."""

PUP_FOOD_STEP_G = 5.0


@dataclass(frozen=True)
class People:
    """The names of a scenario."""

    trainer: str
    household: str
    family: str


def draw_people(rng: Generator) -> People:
    """Return the trainer, the household and the family."""
    return People(pick(rng, TRAINERS), pick(rng, HOUSEHOLDS), pick(rng, FAMILIES))


def ration_g(weight_kg: float) -> float:
    """Return a young pup's food for a day, in grams, to the nearest 5 g.

    **Model**: 3 · 70 · weight^0.75 kcal a day, up to four months of age.
    **Source**: Hand et al. 2010, Small Animal Clinical Nutrition, 5th ed., Table 5-2; tested in test_people.py.
    """
    energy_kcal = 3.0 * 70.0 * math.pow(weight_kg, 0.75)
    return PUP_FOOD_STEP_G * round(100.0 * energy_kcal / FOOD_KCAL_PER_100G / PUP_FOOD_STEP_G)


def draw_pup(rng: Generator, stay: Stay, names: Sequence[str] = PUPS) -> ScenarioDog:
    """Return the pup: nine to ten weeks old on arrival, weighed on arrival, in mid-stay and yesterday or so."""
    weight_kg = between(rng, 4.9, 6.1)
    daily_gain_kg = between(rng, 0.09, 0.13)
    weighings = [(number, round(weight_kg + daily_gain_kg * number, 2)) for number in (0, 5, stay.n_done - 1)]
    return ScenarioDog(
        name=pick(rng, names),
        sex=pick(rng, ("female", "male")),
        breed="retriever cross",
        born_on=stay.arrival_on - timedelta(days=whole(rng, 64, 70)),
        resident=False,
        weights=[(stay.instant(number, 11 * 60 + 5), kg) for number, kg in weighings],
        daily_food_g=ration_g(weight_kg),
        food_kcal_per_100g=FOOD_KCAL_PER_100G,
        expected_adult_weight_kg=float(whole(rng, 20, 26)),
        conditions=(5, 4, 5),
    )


def draw_resident(rng: Generator, stay: Stay) -> ScenarioDog:
    """Return the dog that lives there: grown up, calm, and weighed once."""
    weight_kg = round(between(rng, 16.0, 24.0), 1)
    return ScenarioDog(
        name=pick(rng, RESIDENTS),
        sex=pick(rng, ("female", "male")),
        breed="herding-dog cross",
        born_on=_years_before(stay.arrival_on, whole(rng, 4, 8)),
        resident=True,
        weights=[(stay.instant(0, 11 * 60 + 10), weight_kg)],
        daily_food_g=280.0,
        food_kcal_per_100g=FOOD_KCAL_PER_100G,
        expected_adult_weight_kg=None,
    )


def _years_before(day: date, years: int) -> date:
    return day - timedelta(days=365 * years + 100)


def list_reinforcers() -> list[ScenarioReinforcer]:
    """Return the four reinforcers: two from the weighed ration, and two kept for what is hard.

    Source of the energies of chicken and cheddar: USDA food data (165 and 403 kcal per 100 g).
    """
    return [
        ScenarioReinforcer("kibble", 0.4, FOOD_KCAL_PER_100G, from_ration=True),
        ScenarioReinforcer("soaked kibble", 0.5, FOOD_KCAL_PER_100G, from_ration=True),
        ScenarioReinforcer("roast chicken", 0.5, 165.0, from_ration=False),
        ScenarioReinforcer("cheddar", 0.3, 403.0, from_ration=False),
    ]


def list_vet_dates(stay: Stay) -> list[ScenarioVetDate]:
    """Return the dates with the veterinarian, who alone says when the pup is vaccinated."""
    return [
        ScenarioVetDate(stay.day(2), "Health check after arrival"),
        ScenarioVetDate(stay.day(DAYS_DONE + 4), "Vaccination, as the veterinarian said"),
        ScenarioVetDate(stay.handover_on - timedelta(days=1), "Weighing and papers for the family"),
    ]
