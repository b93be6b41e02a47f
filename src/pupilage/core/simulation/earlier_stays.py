"""The stays before the one that runs: five pups that went to their families, from generators of their own.

Their draws come from children of the seed's sequence, so that the running stay of a seed is what it would be without
them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TypeVar

import numpy as np
from numpy.random import Generator

from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import find_zone, local_day, require_aware
from pupilage.core.incidents.absences import AbsenceRecord
from pupilage.core.simulation.absence_log import write_absences
from pupilage.core.simulation.aftercare import Aftercare, Habits, write_aftercare
from pupilage.core.simulation.care_log import write_care
from pupilage.core.simulation.chance import between, draw_id, pick
from pupilage.core.simulation.course import Course, begin_course
from pupilage.core.simulation.happenings import write_incidents
from pupilage.core.simulation.lessons import LESSONS, Lesson
from pupilage.core.simulation.logbook import Phone
from pupilage.core.simulation.people import draw_pup, list_vet_dates
from pupilage.core.simulation.scenario import Scenario, ScenarioDog, ScenarioGoal
from pupilage.core.simulation.session import write_probe, write_training
from pupilage.core.simulation.stay import Stay, ended_stay
from pupilage.core.simulation.teaching import PROBE_DAYS, PROBES_ON_ARRIVAL, Teaching, teach
from pupilage.core.simulation.timetable import Activity, draw_start, lay_out_day
from pupilage.core.training.record.events import Event

KEPT_DAYS = 14
"""Of an earlier stay only the outings and meals of so many last days are there: the demo is to be made in seconds."""

CARE_KINDS = (CareKind.OUTING, CareKind.INDOORS, CareKind.MEAL)
LAST_PROBES_MIN, LESSON_MIN, BETWEEN_MIN = 9 * 60 + 30, 10 * 60, 25
FAMILY_FORM = -0.7
"""What the pup does less well with people whom it has known for an hour, in logits (own choice)."""

SESSIONS_A_DAY = (1, 2, 2, 3)
"""Fewer than in the stay that runs: each costs time while the demo is made."""

QUICKNESS = (0.9, 1.5)
"""How much one pup learns from a try beside another, in all that it learns (own choice)."""

NOTE = (
    "The first three days: the same hours for meals and outings as here, and few visitors. "
    "If a word does not work, wait a moment and make it easier; do not say it twice."
)
OWN_ITEM = "Drove once around the block with the pup in its crate"
FAMILY_WORDS = "Write down what you see, good or not: I look every evening."

LESSON_COURSES = ("sit", "recall", "loose-lead")


Entry = TypeVar("Entry", CareEvent, AbsenceRecord)


@dataclass(frozen=True)
class EarlierStay:
    """A stay that is over: what was written down in it, the family's lesson, and the weeks after.

    handed_over_at: when the family came. first_name: of the one of them who did the lesson and has the link;
    aftercare: None where it is so long ago that nobody writes any more. The rest: the trainer's words for the family.
    """

    scenario: Scenario
    handed_over_at: datetime
    first_name: str
    aftercare: Aftercare | None
    release_word: str = "Free"
    note: str = NOTE
    own_item: str = OWN_ITEM
    family_words: str = FAMILY_WORDS


@dataclass(frozen=True)
class _Cast:
    """Who went where, and how long before today. care: whether outings, meals and absences are written."""

    days_ago: int
    pup: str
    family: str
    first_name: str
    care: bool = False
    habits: Habits | None = None


WELL = Habits(weeks_told=(1, 2, 4), called_on_day=16)
TO_CALL = Habits(weeks_told=(1,), weak="recall")
CASTS = (
    _Cast(148, "Bramble", "Helen and Ruth", "Helen"),
    _Cast(113, "Linnet", "Omar, Claire and Theo", "Omar"),
    _Cast(80, "Barley", "Katrin, Bernd and two boys", "Katrin"),
    _Cast(50, "Clover", "Priya and Daniel", "Priya", habits=WELL),
    _Cast(26, "Fern", "Marta, Felix and Ida", "Marta", care=True, habits=TO_CALL),
)
"""The oldest first. The last two are still in their first ten weeks: one is well, and one should be called."""

GOALS = {
    "name-response": ("garden-people", 5),
    "sit": ("garden", 3),
    "recall": ("garden-family", 5),
    "settle-on-mat": ("twenty-five-seconds", 4),
    "go-to-crate": ("where-it-sleeps", 4),
    "drop": ("two-metres", 4),
    "loose-lead": ("twelve-seconds", 4),
}
"""Behaviour: the goal's step and its weight. Below the catalogue's own targets, as three weeks allow."""


def generate_earlier_stays(
    scenario: Scenario, *, seed: int, now: datetime, catalogue: Catalogue
) -> tuple[EarlierStay, ...]:
    """Return the stays before a scenario's own, of the same trainer, the oldest first; nothing is later than `now`.

    The same arguments give equal values. seed, now, catalogue: those that the scenario was made of.
    """
    now, zone = require_aware(now, "now"), find_zone(scenario.timezone)
    today = local_day(now, zone)
    children = np.random.SeedSequence(seed).spawn(len(CASTS))
    found = []
    for cast, child in zip(CASTS, children, strict=True):
        stay = ended_stay(today - timedelta(days=cast.days_ago), zone)
        found.append(_EarlierStay(scenario, cast, stay, catalogue, np.random.default_rng(child)).write(now))
    return tuple(found)


@dataclass(frozen=True)
class _EarlierStay:
    """A stay on its way: whose it is, and its generator."""

    running: Scenario
    cast: _Cast
    stay: Stay
    catalogue: Catalogue
    rng: Generator

    def write(self, now: datetime) -> EarlierStay:
        """Return the stay with the weeks after it up to `now`."""
        stay, rng = self.stay, self.rng
        pup, quickness = draw_pup(rng, stay, (self.cast.pup,)), between(rng, *QUICKNESS)
        lessons = [lesson for lesson in LESSONS if lesson.behaviour in GOALS]
        courses = [_begin(lesson, quickness, self.catalogue, rng) for lesson in lessons]
        days = _lay_out_days(stay, len(courses), rng)
        sessions = [*teach(courses, days, stay, rng).sessions, *_last_days(courses, self.cast, stay, rng).sessions]
        habits = self.cast.habits
        return EarlierStay(
            scenario=self._scenario(pup, days, sessions),
            handed_over_at=stay.now,
            first_name=self.cast.first_name,
            aftercare=None if habits is None else write_aftercare(courses, habits, stay, now, rng),
        )

    def _scenario(
        self, pup: ScenarioDog, days: Sequence[Sequence[Activity]], sessions: Sequence[Sequence[Event]]
    ) -> Scenario:
        stay, rng = self.stay, self.rng
        care = write_care(days, [pup.daily_food_g or 0.0] * len(days), stay, rng) if self.cast.care else []
        return replace(
            self.running,
            family=self.cast.family,
            pup=pup,
            resident=None,
            arrival_on=stay.arrival_on,
            handover_on=stay.handover_on,
            goals=[ScenarioGoal(key, *goal) for key, goal in GOALS.items()],
            vet_dates=list_vet_dates(stay),
            sessions=sessions,
            care_events=_kept([one for one in care if one.kind in CARE_KINDS], stay),
            incidents=[one for one in write_incidents(days, stay, rng) if one.at <= stay.now],
            absences=_kept(write_absences(days, pup, stay, rng), stay) if self.cast.care else (),
            exposures=(),
            appointments=(),
        )


def _begin(lesson: Lesson, quickness: float, catalogue: Catalogue, rng: Generator) -> Course:
    """Return the course of a pup that is quicker or slower at this than the one of `LESSONS`."""
    traits = replace(
        lesson.traits,
        skill=lesson.traits.skill + between(rng, -0.4, 0.4),
        rate=lesson.traits.rate * quickness * between(rng, 0.75, 1.35),
    )
    return begin_course(catalogue.behaviours[lesson.behaviour], traits, rng)


def _lay_out_days(stay: Stay, n_courses: int, rng: Generator) -> list[list[Activity]]:
    days = []
    for number in stay.numbers():
        starts_min, n_sessions = draw_start(rng, number), _count(rng, number, stay, n_courses)
        days.append(lay_out_day(rng, number=number, starts_min=starts_min, n_sessions=n_sessions))
    return days


def _count(rng: Generator, number: int, stay: Stay, n_courses: int) -> int:
    """Return the sessions of a day; those of the last two days have their own hours."""
    if number >= stay.n_done - 1:
        return 0
    if number < PROBE_DAYS:
        return PROBES_ON_ARRIVAL if number == 0 else n_courses - PROBES_ON_ARRIVAL
    return pick(rng, SESSIONS_A_DAY)


def _last_days(courses: Sequence[Course], cast: _Cast, stay: Stay, rng: Generator) -> Teaching:
    """Return the last day's cold probes, of goals that are nearly reached or passed, and the family's lesson."""
    phone, told, last = Phone(draw_id(rng), stay, rng), Teaching(), stay.n_done - 1
    for i, course in enumerate(courses):
        goal, was_at = course.behaviour.step_index(GOALS[course.behaviour.key][0]) or 0, course.step_index
        if was_at >= goal - 1:
            course.step_index = goal
            told.add(last, write_probe(course, stay.instant(last, LAST_PROBES_MIN + BETWEEN_MIN * i), phone))
            course.step_index = min(was_at, goal)
    lesson = [course for course in courses if course.behaviour.key in LESSON_COURSES]
    for i, course in enumerate(lesson):
        course.learner.overnight(FAMILY_FORM)
        at = stay.instant(stay.n_done, LESSON_MIN + BETWEEN_MIN * i)
        told.add(stay.n_done, write_training(course, at, phone, i, handler=cast.first_name))
    return told


def _kept(log: Sequence[Entry], stay: Stay) -> list[Entry]:
    """Return the entries of the last days."""
    first = stay.instant(stay.n_done - KEPT_DAYS, 0.0)
    return [one for one in log if one.at >= first]
