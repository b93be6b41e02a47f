"""The sessions of the stay: probes on the first two days, then three to five short training sessions a day."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from numpy.random import Generator

from pupilage.core.simulation.chance import draw_id, pick
from pupilage.core.simulation.course import Course
from pupilage.core.simulation.learner import draw_form
from pupilage.core.simulation.logbook import Phone, SessionLog
from pupilage.core.simulation.scenario import ScenarioReinforcer
from pupilage.core.simulation.session import write_probe, write_training
from pupilage.core.simulation.stay import DAYS_DONE, Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind
from pupilage.core.training.record.events import Event

PROBE_DAYS = 2
PROBES_ON_ARRIVAL = 4


@dataclass
class Teaching:
    """What was taught so far: the logs of all sessions, and the pieces fed on each day by reinforcer."""

    sessions: list[list[Event]] = field(default_factory=list)
    n_fed: dict[int, dict[str, int]] = field(default_factory=dict)

    def add(self, number: int, log: SessionLog) -> None:
        """Keep a session of the day of this number."""
        self.sessions.append(log.events)
        fed = self.n_fed.setdefault(number, {})
        for name, n in log.n_fed.items():
            fed[name] = fed.get(name, 0) + n


def count_sessions(rng: Generator, number: int, n_courses: int) -> int:
    """Return how many sessions a day is to have; today's are still to come."""
    if number >= DAYS_DONE:
        return 0
    if number < PROBE_DAYS:
        return PROBES_ON_ARRIVAL if number == 0 else n_courses - PROBES_ON_ARRIVAL
    return pick(rng, (3, 4, 5, 5))


def teach(courses: Sequence[Course], days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator) -> Teaching:
    """Return all sessions of the days' timetables; the courses' learners change on the way."""
    phone = Phone(draw_id(rng), stay, rng)
    teaching = Teaching()
    for number, activities in enumerate(days[: stay.n_done]):
        slots = [a.start_min for a in activities if a.kind is ActivityKind.SESSION]
        for i, course in enumerate(_choose(courses, number, len(slots), rng)):
            at = stay.instant(number, slots[i])
            probe = number < PROBE_DAYS
            course.last_day = number
            log = write_probe(course, at, phone) if probe else write_training(course, at, phone, i)
            teaching.add(number, log)
        form = draw_form(rng)
        for course in courses:
            course.learner.overnight(form)
    return teaching


def _choose(courses: Sequence[Course], number: int, n_slots: int, rng: Generator) -> list[Course]:
    """Return the courses of a day: all in turn while probing, then by share, those left longest first of all."""
    if number < PROBE_DAYS:
        start = 0 if number == 0 else PROBES_ON_ARRIVAL
        return list(courses[start : start + n_slots])
    open_now = [course for course in courses if course.traits.from_day <= number]
    weights = [course.traits.share * (number - course.last_day) ** 1.5 for course in open_now]
    shares = [weight / sum(weights) for weight in weights]
    chosen = rng.choice(len(open_now), size=min(n_slots, len(open_now)), replace=False, p=shares)
    return [open_now[int(i)] for i in chosen]


def pouch_food_g(fed: dict[str, int], reinforcers: Sequence[ScenarioReinforcer], food_kcal_per_100g: float) -> float:
    """Return the grams of daily food that a day's pieces stand for: by weight, or by energy for other food.

    fed: pieces for each reinforcer's name.
    """
    by_name = {reinforcer.name: reinforcer for reinforcer in reinforcers}
    return sum(n * by_name[name].piece_g * by_name[name].kcal_per_100g / food_kcal_per_100g for name, n in fed.items())
