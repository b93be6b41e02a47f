"""One session as events: a probe or a short training session, from the counted pouch to the end."""

from datetime import datetime

from numpy.random import Generator

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.simulation.chance import between, happens, whole
from pupilage.core.simulation.course import Course
from pupilage.core.simulation.holds import write_holds
from pupilage.core.simulation.logbook import Phone, SessionLog
from pupilage.core.simulation.trials import SET_SIZE, write_set, write_trials
from pupilage.core.training.record.events import EventKind
from pupilage.core.training.record.evidence import SessionKind

PROBE_HOLDS = 3

PLACES = {
    Place.QUIET_ROOM: "kitchen",
    Place.HOME: "living room",
    Place.GARDEN: "garden",
    Place.QUIET_STREET: "lane by the mill",
    Place.BUSY_PLACE: "market square",
    Place.NEW_PLACE: "orchard",
}
"""What the invented trainer calls the places at which a step is practised."""


def begin_session(course: Course, kind: SessionKind, at: datetime, phone: Phone, handler: str = "") -> SessionLog:
    """Return the log of a session that has just started, with a counted pouch. handler: empty for the trainer."""
    pieces = whole(phone.rng, 24, 36)
    log = SessionLog(phone, at, course.traits.reinforcer, pieces)
    log.write(
        EventKind.SESSION_STARTED,
        0.0,
        behaviour=course.behaviour.key,
        step=course.step.key,
        kind=kind.value,
        reinforcer=log.reinforcer,
        pieces=pieces,
        cold=kind is SessionKind.PROBE,
        place=PLACES[course.step.criterion.place],
        **({"handler": handler} if handler else {}),
    )
    return log


def write_probe(course: Course, at: datetime, phone: Phone) -> SessionLog:
    """Return a cold probe: five trials or three holds, no help, no change of step; it places the course."""
    rng = phone.rng
    log = begin_session(course, SessionKind.PROBE, at, phone)
    if course.timed:
        n_tried, n_met = PROBE_HOLDS, write_holds(log, course, PROBE_HOLDS, rng)
    else:
        n_tried, n_met = SET_SIZE, write_set(log, course, SET_SIZE, rng, probe=True)
    end_session(log, rng)
    course.judge(n_met, n_tried)
    return log


def write_training(course: Course, at: datetime, phone: Phone, n_earlier_today: int, handler: str = "") -> SessionLog:
    """Return a training session: 8 to 15 trials in sets of five, or 4 to 8 holds."""
    rng = phone.rng
    course.learner.begin_session(n_earlier_today)
    log = begin_session(course, SessionKind.TRAINING, at, phone, handler)
    if course.timed:
        n_holds = min(8, max(4, int(480 / (course.target_s + 12)) - whole(rng, 0, 3)))
        n_met = write_holds(log, course, n_holds, rng)
        course.learner.after_block(n_met, rng)
        course.judge(n_met, n_holds)
    else:
        write_trials(log, course, whole(rng, 8, 15), rng)
    end_session(log, rng)
    return log


def end_session(log: SessionLog, rng: Generator) -> None:
    """Write the end, with a reason now and then."""
    reason = {"reason": "the pup lay down"} if happens(rng, 0.08) else {}
    log.write(EventKind.SESSION_ENDED, between(rng, 2.0, 6.0), **reason)
