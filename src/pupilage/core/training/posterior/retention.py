"""What is left without practice, when a behaviour is due again, and a fall after a gap told for what it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.reading import Reading, read_step
from pupilage.core.training.posterior.state import DogState, at_moment
from pupilage.core.training.record.evidence import Outcome, Trial
from pupilage.core.words import Sentence, sentence

LEAST_KEPT = 0.75
"""A behaviour is due before its chance at the goal's step is expected below this (common practice)."""

LONGEST_DAYS = 365
GAP_DAYS = 4
LEAST_COLD = 5
EXPECTED_FALL = 0.05


@dataclass(frozen=True)
class Retention:
    """The chance of a cold first trial at a step after each of `days` without practice, and its 90 % interval."""

    days: tuple[int, ...]
    p: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


def forecast_without_practice(
    state: DogState, behaviour: str, step: int, *, now: datetime, days: tuple[int, ...] = (1, 3, 7, 14, 30, 90)
) -> Retention:
    """Return the chance of a cold trial at a step (0-based) after each number of days without practice.

    Model: the grid's two laws of forgetting, each with its weight; the day's form unknown, nobody tired.
    Raises: InvalidInput for days below 0 or above 365, or a step that the list does not have.
    """
    if any(not 0 <= n <= LONGEST_DAYS for n in days):
        raise InvalidInput.of("days", "Give days from 0 to {most}.", most=LONGEST_DAYS)
    readings = [cold_reading(state, behaviour, step, now=now + timedelta(days=n)) for n in days]
    ends = [reading.interval() for reading in readings]
    return Retention(
        days, tuple(r.mean for r in readings), tuple(low for low, _ in ends), tuple(high for _, high in ends)
    )


def cold_reading(state: DogState, behaviour: str, step: int, *, now: datetime) -> Reading:
    """Return the reading of a cold trial at a step: as the pup comes to it, not tired by this session."""
    then = at_moment(state, behaviour, now=now)
    if not 0 <= step < len(then.ladder.keys):
        raise InvalidInput.of("step", "{step} is no place in this list of steps; count from 0.", step=step)
    return read_step(then, step, tired=0.0)


def days_until_due(state: DogState, behaviour: Behaviour, step: int, *, now: datetime) -> int:
    """Return in how many days the behaviour should be practised: 0 is today, never later than its own interval.

    Model: the last day on which a cold trial is expected to be met in LEAST_KEPT or more, by bisection, counted from
    now; the catalogue's `maintain_every_days`, counted from the last practice, is the longest wait.
    """
    last = state.last_day.get(behaviour.key)
    idle = 0 if last is None else max(0, (now.astimezone(state.zone).date() - last).days)
    low, high = 0, max(0, behaviour.maintain_every_days - idle)
    if last is None or cold_reading(state, behaviour.key, step, now=now).mean < LEAST_KEPT:
        return 0
    while low < high:
        middle = (low + high + 1) // 2
        kept = cold_reading(state, behaviour.key, step, now=now + timedelta(days=middle)).mean
        low, high = (middle, high) if kept >= LEAST_KEPT else (low, middle - 1)
    return low


def name_the_fall(state: DogState, behaviour: str, step: int, *, now: datetime) -> Sentence | None:
    """Return a sentence when a gap makes a weaker start likely, or None: such a fall is no failure of the training.

    Said after GAP_DAYS days or more, when the chance is expected to have fallen by 0.05 or more since the last one.
    """
    last = state.last_day.get(behaviour)
    if last is None:
        return None
    idle = (now.astimezone(state.zone).date() - last).days
    if idle < GAP_DAYS:
        return None
    then = cold_reading(state, behaviour, step, now=now - timedelta(days=idle - 1)).mean
    p = cold_reading(state, behaviour, step, now=now).mean
    if then - p < EXPECTED_FALL:
        return None
    return sentence(
        "{days} days without practice: a first try should be met about {now:.0%} of the time, {then:.0%} before."
        " That is forgetting, and comes back quickly; begin a step easier.",
        days=idle,
        now=p,
        then=then,
    )


@dataclass(frozen=True)
class FirstTries:
    """The first try of each day, cold, beside the later ones at the same steps: counts, and how likely it is weaker."""

    n_met_cold: int
    n_cold: int
    n_met_warm: int
    n_warm: int
    p_weaker: float


def compare_first_tries(trials: Sequence[Trial], zone: tzinfo) -> FirstTries | None:
    """Return how first tries of a day go beside later ones, or None under LEAST_COLD of them.

    Only steps at which a day began are compared; void tries, and helped ones, are no first tries met.
    Parameters: trials, of one behaviour in time order; zone, where its days begin.
    """
    standing = [trial for trial in trials if trial.outcome is not Outcome.VOID]
    first = {local_day(trial.at, zone): trial for trial in reversed(standing)}
    cold, steps = list(first.values()), {trial.step for trial in first.values()}
    if len(cold) < LEAST_COLD:
        return None
    ids = {trial.event_id for trial in cold}
    warm = [trial for trial in standing if trial.step in steps and trial.event_id not in ids]
    counts = [(sum(trial.outcome is Outcome.MET for trial in some), len(some)) for some in (cold, warm)]
    (met_cold, n_cold), (met_warm, n_warm) = counts
    return FirstTries(met_cold, n_cold, met_warm, n_warm, cold_and_warm(met_cold, n_cold, met_warm, n_warm))


def cold_and_warm(met_cold: int, n_cold: int, met_warm: int, n_warm: int) -> float:
    """Return P(cold chance < warm chance), each Beta(0.5 + met, 0.5 + missed): is the first try of a day weaker?

    Model: by quadrature over 2,000 points of the cold chance. Checked against SciPy's adaptive
    quadrature in tests/unit/training/test_retention.py.
    """
    from scipy.special import betainc, betaincinv

    cold_a, cold_b = 0.5 + met_cold, 0.5 + n_cold - met_cold
    q = (np.arange(2000) + 0.5) / 2000
    p = betaincinv(cold_a, cold_b, q)
    return float(np.mean(1.0 - betainc(0.5 + met_warm, 0.5 + n_warm - met_warm, p)))
