"""How much of something harmful a dog has eaten, against the doses that are described. Never an all-clear.

Every answer carries the same words: call now. A dose under what is described is no reason to wait: contents differ,
amounts are guessed, and pups differ.
"""

import math
import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.units import MAX_WEIGHT_KG, MIN_WEIGHT_KG
from pupilage.core.words import Sentence, sentence

CALL_NOW = sentence(
    "This is not a diagnosis. Call your veterinarian or an animal poison service now. Have ready: what, how much, "
    "when, the puppy's weight, and the packaging. Do not make the dog vomit unless a veterinarian tells you to."
)
"""Shown with every answer, whatever the dose. Salt is never used to make a dog vomit."""

NO_SALT = sentence("Never give salt to make a dog vomit: it is a poison itself.")


class Poison(StrEnum):
    """What a dose is worked out for. Stored values are fixed for good."""

    METHYLXANTHINES = "methylxanthines"
    XYLITOL = "xylitol"
    ONION = "onion"
    GRAPES = "grapes"
    MACADAMIA = "macadamia"
    SALT = "salt"
    PLAY_DOUGH = "play-dough"
    NONE = "none"


@dataclass(frozen=True)
class DoseBand:
    """From this dose on (mg or g per kg of dog), so much is described."""

    from_dose: float
    says: Sentence


BANDS: dict[Poison, tuple[DoseBand, ...]] = {
    Poison.METHYLXANTHINES: (
        DoseBand(20.0, sentence("Vomiting, thirst and restlessness are described from 20 mg/kg.")),
        DoseBand(40.0, sentence("Effects on the heart are described from 40 to 50 mg/kg.")),
        DoseBand(60.0, sentence("Fits are described from 60 mg/kg.")),
        DoseBand(100.0, sentence("Half of the dogs die at 100 to 200 mg/kg, some at less.")),
    ),
    Poison.XYLITOL: (
        DoseBand(75.0, sentence("Low blood sugar is described from 75 to 100 mg/kg.")),
        DoseBand(100.0, sentence("From 100 mg/kg veterinarians treat at once, even a dog without signs.")),
        DoseBand(500.0, sentence("Liver injury is described above 500 mg/kg.")),
    ),
    Poison.ONION: (
        DoseBand(5.0, sentence("Poisoning is described from 5 g/kg, half a per cent of the body weight.")),
        DoseBand(15.0, sentence("Clear damage to the blood is described from 15 g/kg. Signs may take days.")),
    ),
    Poison.GRAPES: (),
    Poison.MACADAMIA: (
        DoseBand(0.7, sentence("Signs are described from 0.7 g/kg, 3.5 g/kg on average.")),
        DoseBand(2.4, sentence("Signs are to be expected from 2.4 g/kg, within twelve hours.")),
    ),
    Poison.SALT: (
        DoseBand(2.0, sentence("Signs are described from 2 to 3 g/kg.")),
        DoseBand(4.0, sentence("About 4 g/kg can kill.")),
    ),
    Poison.PLAY_DOUGH: (DoseBand(1.9, sentence("Signs are described from 1.9 g of dough per kg.")),),
}
"""Sources: chocolate, Merck Veterinary Manual and ASPCA poison control (secondary pages); xylitol, Merck
(Gwaltney-Brant 2021) and Clinician's Brief; onion, Osweiler, Blackwell's companion (5 g/kg), and a Compendium review
(15 g/kg); macadamia, McKenzie et al. 2000, Aust Vet Pract 30:6-10 (0.7 to 4.9 g/kg) and Merck 2013 (2.4); salt,
secondary pages (2-3; 4); play dough, 1.9 g/kg. Checked in tests/external/test_doses.py."""

MG = (Poison.METHYLXANTHINES, Poison.XYLITOL)
"""Their doses are in mg/kg, the others' in g/kg."""


@dataclass(frozen=True)
class Eaten:
    """Something that a dog may have eaten (data/eaten.toml). unit: “g” or “pieces”, “” without a dose to work out.

    per_unit: mg or g of the harmful part in one unit; hint: what helps to say how much it was.
    """

    key: str
    name: str
    poison: Poison
    unit: str = ""
    per_unit: float = 0.0
    hint: str = ""


@dataclass(frozen=True)
class DoseAnswer:
    """What is said of a dose. dose: per kg of dog in `unit` (“mg/kg” or “g/kg”), None where none can be worked out.

    band: what is described at such a dose, never that nothing happens; call_now: the fixed words, always to be shown.
    """

    eaten: Eaten
    dose: float | None
    unit: str
    band: Sentence
    reached: float | None
    call_now: Sentence = CALL_NOW


@cache
def list_eaten() -> tuple[Eaten, ...]:
    """Return what the page offers; read once in a process."""
    text = (files("pupilage.core.care.food") / "data" / "eaten.toml").read_text(encoding="utf-8")
    return tuple(Eaten(**{**one, "poison": Poison(one["poison"])}) for one in tomllib.loads(text)["eaten"])


def find_eaten(key: str) -> Eaten | None:
    """Return an entry by its key, None for an unknown one."""
    return next((one for one in list_eaten() if one.key == key), None)


def dose_per_kg(amount: float, per_unit: float, weight_kg: float) -> float:
    """Return the dose per kilogram of dog, in the unit of `per_unit`.

    Model: amount · content / weight.
    Raises: InvalidInput with every figure that cannot be.
    """
    problems = dose_problems(amount, weight_kg)
    if problems:
        raise InvalidInput(problems)
    return amount * per_unit / weight_kg


def dose_problems(amount: float | None, weight_kg: float | None) -> list[Problem]:
    """Return everything that is wrong with an amount and a weight; None is not wrong, only unknown."""
    problems = []
    if amount is not None and not 0.0 < amount < math.inf:
        problems.append(
            Problem("amount", "{given} is no amount; give the most it may have been, or leave it empty.", given=amount)
        )
    if weight_kg is not None and not MIN_WEIGHT_KG <= weight_kg <= MAX_WEIGHT_KG:
        problems.append(
            Problem(
                "weight_kg",
                "{given:g} kg cannot be a dog's weight; give a number between {low:g} and {high:g} kg.",
                given=weight_kg,
                low=MIN_WEIGHT_KG,
                high=MAX_WEIGHT_KG,
            )
        )
    return problems


def highest_band(poison: Poison, dose: float) -> DoseBand | None:
    """Return the highest band that a dose reaches, None below the first one and where none is described."""
    reached = [band for band in BANDS.get(poison, ()) if dose >= band.from_dose * (1.0 - 1e-9)]
    return reached[-1] if reached else None


def answer_dose(eaten: Eaten, *, amount: float | None, weight_kg: float | None) -> DoseAnswer:
    """Return what is said of something eaten. amount: in the unit of `eaten`; None for either: not known.

    Raises: InvalidInput with every figure that cannot be; whoever shows that shows CALL_NOW beside it.
    """
    problems = dose_problems(amount, weight_kg)
    if problems:
        raise InvalidInput(problems)
    unit = "mg/kg" if eaten.poison in MG else "g/kg"
    if eaten.poison is Poison.NONE:
        return DoseAnswer(eaten, None, "", _no_dose(), None)
    if amount is None or weight_kg is None:
        band = sentence("How much, or its weight, is not known: count it as too much.")
        return DoseAnswer(eaten, None, unit, band, None)
    dose = dose_per_kg(amount, eaten.per_unit, weight_kg)
    band_reached = highest_band(eaten.poison, dose)
    if eaten.poison is Poison.GRAPES:
        band = sentence(
            "No safe amount is known: some dogs fall ill from a few grapes or raisins, and nobody can say which."
        )
    elif band_reached is None:
        band = sentence(
            "Under the lowest dose that is described ({lowest:g} {unit}). That is no all-clear: contents and pups "
            "differ, and amounts are easily guessed too low.",
            lowest=BANDS[eaten.poison][0].from_dose,
            unit=unit,
        )
    else:
        band = band_reached.says
    return DoseAnswer(eaten, dose, unit, band, None if band_reached is None else band_reached.from_dose)


def _no_dose() -> Sentence:
    return sentence("No dose can be worked out for this: count it as too much.")
