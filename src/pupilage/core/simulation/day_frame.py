"""The scenario's usual day and the trainer's appointments around today, from a stream of their own."""

from datetime import time

import numpy as np
from numpy.random import Generator

from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.simulation.chance import pick, whole
from pupilage.core.simulation.scenario import ScenarioAppointment
from pupilage.core.simulation.stay import DAYS_DONE, Stay

STREAM = 4
"""Names the stream, so that these draws change none of the others."""

ERRANDS = ("Groceries", "Parents' evening", "Car to the garage", "Call with the next family")
OUTINGS_ALONG = ("Coffee with a neighbour in the garden", "Visit to the allotment")


def day_stream(seed: int) -> Generator:
    """Return the generator of this part of the scenario."""
    return np.random.default_rng([seed, STREAM])


def draw_day(rng: Generator) -> DayPreferences:
    """Return how the days run: awake around half past six, quiet after lunch."""
    return DayPreferences(
        wake=time(6, 5 * whole(rng, 4, 8)),
        last_outing=time(22, 5 * whole(rng, 0, 6)),
        quiet=((time(13), time(14, 30)),),
        meals=(time(7, 15), time(12), time(17)),
        resident_min=45,
    )


def draw_appointments(rng: Generator, stay: Stay) -> list[ScenarioAppointment]:
    """Return two appointments today, one of them with the pup, and one tomorrow."""
    alone, along = 60 * 10 + 30 * whole(rng, 0, 2), 60 * 15 + 30 * whole(rng, 0, 2)
    return [
        _appointment(stay, 0, alone, 60, pick(rng, ERRANDS), comes_along=False),
        _appointment(stay, 0, along, 45, pick(rng, OUTINGS_ALONG), comes_along=True),
        _appointment(stay, 1, 60 * 9 + 30, 75, pick(rng, ERRANDS), comes_along=False),
    ]


def _appointment(
    stay: Stay, days_ahead: int, start_min: int, minutes: int, words: str, *, comes_along: bool
) -> ScenarioAppointment:
    number = DAYS_DONE + days_ahead
    return ScenarioAppointment(
        starts_at=stay.instant(number, start_min),
        ends_at=stay.instant(number, start_min + minutes),
        words=words,
        comes_along=comes_along,
    )
