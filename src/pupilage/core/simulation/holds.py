"""The holds of a session: asked for so many seconds, until the pup breaks or is released."""

from numpy.random import Generator

from pupilage.core.simulation.chance import between, happens
from pupilage.core.simulation.course import Course
from pupilage.core.simulation.logbook import SessionLog
from pupilage.core.training.record.events import Event, EventKind

P_RELEASED_EARLY = 0.04


def write_holds(log: SessionLog, course: Course, n_holds: int, rng: Generator) -> int:
    """Write holds at the present step. Returns how many lasted to the target."""
    return sum(_write_hold(log, course, rng) for _ in range(n_holds))


def _write_hold(log: SessionLog, course: Course, rng: Generator) -> bool:
    """Write one hold: a break at the moment of the break, a release just after the target or, rarely, before."""
    target_s = course.target_s
    lasts_s = course.learner.hold(course.difficulty, target_s, rng)
    started = log.write(EventKind.HOLD_STARTED, between(rng, 3.0, 6.0) + 0.1 * target_s, target_s=target_s)
    released_s = target_s * between(rng, 0.5, 0.9) if happens(rng, P_RELEASED_EARLY) else target_s
    if lasts_s < released_s:
        return _write_end(log, EventKind.HOLD_BROKE, started, lasts_s, pieces=0)
    after_s = between(rng, 0.1, 0.9)
    pieces = log.feed(2 if happens(rng, 0.2) else 1)
    return _write_end(log, EventKind.HOLD_RELEASED, started, released_s + after_s, pieces=pieces)


def _write_end(log: SessionLog, kind: EventKind, started: Event, held_s: float, pieces: int) -> bool:
    """Write the end of a hold to the tenth of a second below. Returns whether it lasted to the target."""
    logged_s = max(1, int(10 * held_s)) / 10
    log.write(kind, logged_s, hold=started.id, held_s=logged_s, pieces=pieces)
    return logged_s >= float(started.payload["target_s"])
