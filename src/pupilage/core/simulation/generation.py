"""A whole scenario from one seed: ten days of a three-week stay, up to now."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.random import Generator

from pupilage.core.care.exposures.loading import load_exposures
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.simulation.absence_log import write_absences
from pupilage.core.simulation.care_log import write_care
from pupilage.core.simulation.course import Course, begin_course
from pupilage.core.simulation.day_frame import day_stream, draw_appointments, draw_day
from pupilage.core.simulation.exposure_log import write_exposures
from pupilage.core.simulation.happenings import story_behaviours, write_around, write_incidents, write_left_alone
from pupilage.core.simulation.lessons import LESSONS
from pupilage.core.simulation.meetings import write_meetings
from pupilage.core.simulation.people import draw_people, draw_pup, draw_resident, list_reinforcers, list_vet_dates
from pupilage.core.simulation.scenario import Scenario, ScenarioDog, ScenarioGoal, ScenarioReinforcer
from pupilage.core.simulation.stay import DAYS_DONE, Stay, stay_of
from pupilage.core.simulation.taps import in_turn
from pupilage.core.simulation.teaching import Teaching, count_sessions, pouch_food_g, teach
from pupilage.core.simulation.thefts import write_thefts
from pupilage.core.simulation.timetable import Activity, draw_start, lay_out_day

USUAL_POUCH_G = 20.0
"""Set aside from today's bowl for sessions still to come."""

AROUND_STREAM = 5
"""Of the generator for what goes on around the pup: what is drawn there moves no other draw."""
THEFT_STREAM = 6
EXPOSURE_STREAM = 2
"""Exposures are drawn from a stream of their own, so that the rest of a seed's scenario stays as it is."""
ABSENCE_STREAM = 7
"""Likewise for absences."""

FED_BEFORE_ARRIVAL = 0.25
"""The part of the first day's food that the pup had eaten where it came from."""


def generate_scenario(*, seed: int, now: datetime, catalogue: Catalogue, timezone: str) -> Scenario:
    """Return a household in the middle of a programme, invented from the seed.

    The pup came ten local days before `now`; nothing that was written down is later. The same arguments give equal
    values.
    now: aware; catalogue: must hold the behaviours of `lessons` and of `happenings`; timezone: an IANA name.

    Raises InvalidInput for a naive `now`, an unknown zone, or keys that the catalogue does not hold.
    """
    _require_keys(catalogue)
    stay = stay_of(now, timezone)
    rng, day_rng = np.random.default_rng(seed), day_stream(seed)
    people, pup, resident = draw_people(rng), draw_pup(rng, stay), draw_resident(rng, stay)
    reinforcers = list_reinforcers()
    courses = [begin_course(catalogue.behaviours[lesson.behaviour], lesson.traits, rng) for lesson in LESSONS]
    days = _lay_out_days(stay, len(courses), rng)
    teaching = teach(courses, days, stay, rng)
    care = write_care(days, _bowls_g(pup, teaching, reinforcers), stay, rng)
    incidents = write_incidents(days, stay, rng)
    own = np.random.default_rng([seed, AROUND_STREAM])
    thefts = write_thefts(days, stay, np.random.default_rng([seed, THEFT_STREAM]))
    around = write_around([*incidents, *thefts], stay, own)
    left = write_left_alone(days, stay, own)
    together, between = write_meetings(days, stay, own)
    return Scenario(
        timezone=timezone,
        trainer=people.trainer,
        household=people.household,
        family=people.family,
        pup=pup,
        resident=resident,
        arrival_on=stay.arrival_on,
        handover_on=stay.handover_on,
        reinforcers=reinforcers,
        goals=_goals(courses),
        vet_dates=list_vet_dates(stay),
        sessions=teaching.sessions,
        care_events=in_turn(care, [*around, *together]),
        incidents=sorted([*incidents, *thefts, *left, *between], key=lambda incident: incident.at),
        absences=write_absences(days, pup, stay, np.random.default_rng([seed, ABSENCE_STREAM])),
        exposures=write_exposures(days, load_exposures(), stay, np.random.default_rng([seed, EXPOSURE_STREAM])),
        day=draw_day(day_rng),
        appointments=draw_appointments(day_rng, stay),
    )


def _require_keys(catalogue: Catalogue) -> None:
    """Refuse a catalogue that lacks something the scenario is about, naming every missing key at once."""
    template = "The scenario needs “{key}”, which this catalogue does not hold; load the bundled catalogue."
    taught = [lesson.behaviour for lesson in LESSONS if catalogue.find_behaviour(lesson.behaviour) is None]
    unwanted = [key for key in story_behaviours() if catalogue.find_unwanted(key) is None]
    problems = [Problem("catalogue", template, key=key) for key in (*taught, *unwanted)]
    if problems:
        raise InvalidInput(problems)


def _lay_out_days(stay: Stay, n_courses: int, rng: Generator) -> list[list[Activity]]:
    return [
        lay_out_day(
            rng,
            number=number,
            starts_min=draw_start(rng, number),
            n_sessions=count_sessions(rng, number, n_courses),
        )
        for number in stay.numbers()
    ]


def _goals(courses: Sequence[Course]) -> list[ScenarioGoal]:
    return [ScenarioGoal(c.behaviour.key, c.behaviour.target, c.behaviour.weight) for c in courses]


def _bowls_g(pup: ScenarioDog, teaching: Teaching, reinforcers: Sequence[ScenarioReinforcer]) -> list[float]:
    """Return the grams that go into the bowl on each day: the ration less what came out of the pouch."""
    ration_g, kcal_per_100g = pup.daily_food_g or 0.0, pup.food_kcal_per_100g or 1.0
    bowls_g = [
        ration_g - pouch_food_g(teaching.n_fed.get(number, {}), reinforcers, kcal_per_100g)
        for number in range(DAYS_DONE)
    ]
    bowls_g[0] -= FED_BEFORE_ARRIVAL * ration_g
    return [*bowls_g, ration_g - USUAL_POUCH_G]
