"""How briskly a session runs: reinforcers per minute, and the time from cue to behaviour."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from statistics import median

from pupilage.core.clock import require_aware
from pupilage.core.training.record.evidence import Outcome, Trial

MIN_SPAN_S = 20.0
"""A rate over fewer seconds than this jumps about too much to be shown."""


def was_reinforced(trial: Trial) -> bool:
    """Say whether the dog was paid: met and helped trials are, and any for which pieces were given.

    A jackpot of several pieces is one reinforcement.
    """
    return trial.outcome in (Outcome.MET, Outcome.HELPED) or trial.pieces > 0


def food_counted(trials: Sequence[Trial]) -> list[Trial]:
    """Return the trials that were paid with food, where the pieces were counted; else all of them.

    With thinner pay a met trial may have had praise alone; where no trial of a session has a piece, nobody counted.
    """
    with_food = [trial for trial in trials if trial.pieces > 0]
    return with_food or list(trials)


def reinforcement_per_min(trials: Iterable[Trial], started_at: datetime, ended_or_now: datetime) -> float | None:
    """Return the reinforcers per minute of a session, or None while it is shorter than MIN_SPAN_S.

    Model: reinforced trials / minutes. Trade practice when teaching: about 10 to 15 a minute (common practice, not
    from controlled studies); holds are slower by nature.
    Raises: InvalidInput for an instant without a zone.
    """
    span_s = (require_aware(ended_or_now, "ended_or_now") - require_aware(started_at, "started_at")).total_seconds()
    if span_s < MIN_SPAN_S:
        return None
    return sum(map(was_reinforced, trials)) * 60.0 / span_s


def rate_within(trials: Sequence[Trial]) -> float | None:
    """Return the reinforcers per minute from the first of these trials to the last.

    The first trial only starts the clock: what came before it is not known.
    """
    if len(trials) < 2:
        return None
    return reinforcement_per_min(trials[1:], trials[0].at, trials[-1].at)


def median_latency_s(trials: Iterable[Trial]) -> float | None:
    """Return the median seconds from cue to behaviour, or None where none was taken."""
    latencies = [trial.latency_s for trial in trials if trial.latency_s is not None]
    return median(latencies) if latencies else None
