"""The trials of a session: sets of five, with help, void tries, an undo and a correction now and then."""

from dataclasses import dataclass

from numpy.random import Generator

from pupilage.core.simulation.chance import between, happens
from pupilage.core.simulation.course import Course
from pupilage.core.simulation.learner import Attempt
from pupilage.core.simulation.logbook import SessionLog
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome

SET_SIZE = 5
P_VOID = 0.02
P_HELP = 0.25
P_UNDO = 0.02
P_CORRECTION = 0.08
MIXED_UP = {Outcome.HELPED: Outcome.MISSED, Outcome.MISSED: Outcome.HELPED}
"""Which outcome is tapped by mistake for which, and put right a moment later."""

VOID_NOTE = "A lorry went by in the middle of a try; that one does not count."


@dataclass(frozen=True)
class _Try:
    """What is to be tapped for one try."""

    outcome: Outcome
    latency_s: float | None
    wait_s: float


def write_trials(log: SessionLog, course: Course, n_trials: int, rng: Generator) -> None:
    """Write a training session's trials; after each full set the step is judged, and moved if enough are left."""
    left = n_trials
    while left > 0:
        n_set = min(SET_SIZE, left)
        n_met = write_set(log, course, n_set, rng)
        left -= n_set
        if n_set < SET_SIZE:
            return
        course.learner.after_block(n_met, rng)
        if course.judge(n_met, n_set) and left:
            log.write(EventKind.STEP_CHANGED, between(rng, 3.0, 7.0), step=course.step.key)
        if n_met <= 2 and left and happens(rng, 0.4):
            log.change_reinforcer("roast chicken", 20)


def write_set(log: SessionLog, course: Course, n_trials: int, rng: Generator, *, probe: bool = False) -> int:
    """Write trials at the present step. Returns how many were met; in a probe nobody helps and nothing is void."""
    n_met = 0
    for _ in range(n_trials):
        if not probe and happens(rng, P_VOID):
            _write_void(log, rng)
            continue
        attempt = course.learner.attempt(course.difficulty, rng)
        outcome = _outcome(attempt, rng, probe=probe)
        n_met += outcome is Outcome.MET
        _tap(log, _as_try(attempt, outcome, course, rng), rng, slips=not probe)
    return n_met


def _outcome(attempt: Attempt, rng: Generator, *, probe: bool) -> Outcome:
    if attempt.met:
        return Outcome.MET
    return Outcome.HELPED if not probe and happens(rng, P_HELP) else Outcome.MISSED


def _as_try(attempt: Attempt, outcome: Outcome, course: Course, rng: Generator) -> _Try:
    """Return what is tapped: a latency for most met tries, never above what the step allows."""
    allowed_s = course.step.criterion.latency_s or 10.0
    latency_s = round(min(attempt.latency_s, 0.95 * allowed_s), 2) if outcome is Outcome.MET else None
    spent_s = course.step.criterion.duration_s + (latency_s or 3.0)
    shown = latency_s if happens(rng, 0.85) else None
    return _Try(outcome, shown, min(spent_s, 30.0) + between(rng, 2.0, 5.5))


def _tap(log: SessionLog, entry: _Try, rng: Generator, *, slips: bool) -> None:
    """Write the tap, and with it a slip of the thumb that is put right at once."""
    if slips and happens(rng, P_UNDO):
        wrong = Outcome.MISSED if entry.outcome is Outcome.MET else Outcome.MET
        slip = log.write(EventKind.TRIAL, entry.wait_s, outcome=wrong.value, pieces=0)
        log.write(EventKind.WITHDRAWN, between(rng, 0.8, 2.0), event=slip.id)
        _write_trial(log, entry, entry.outcome, between(rng, 0.6, 1.5))
    elif slips and entry.outcome in MIXED_UP and happens(rng, P_CORRECTION):
        trial = _write_trial(log, entry, MIXED_UP[entry.outcome], entry.wait_s)
        log.write(EventKind.CORRECTED, between(rng, 1.0, 3.0), event=trial.id, outcome=entry.outcome.value)
    else:
        _write_trial(log, entry, entry.outcome, entry.wait_s)


def _write_trial(log: SessionLog, entry: _Try, outcome: Outcome, wait_s: float) -> Event:
    """Write one trial with its pieces: one for a met or helped try, more when it was a fine one."""
    pieces = 0
    if entry.outcome in (Outcome.MET, Outcome.HELPED):
        fine = entry.outcome is Outcome.MET and happens(log.phone.rng, 0.12)
        pieces = log.feed(3 if fine else 1)
    latency = {} if entry.latency_s is None else {"latency_s": entry.latency_s}
    return log.write(EventKind.TRIAL, wait_s, outcome=outcome.value, pieces=pieces, **latency)


def _write_void(log: SessionLog, rng: Generator) -> None:
    log.write(EventKind.TRIAL, between(rng, 4.0, 9.0), outcome=Outcome.VOID.value, pieces=0)
    if happens(rng, 0.5):
        log.write(EventKind.NOTE, between(rng, 1.0, 3.0), text=VOID_NOTE)
