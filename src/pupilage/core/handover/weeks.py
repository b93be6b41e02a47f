"""The eight weeks after the hand-over: outings, time alone, food, pay and practice, each week by its dates.

Every line is a forecast from the record as it stands, written so that the family may go slower and never has to go
faster.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.incidents.alone import Absence, Ceiling, next_absence
from pupilage.core.training.posterior.retention import LEAST_KEPT, cold_reading
from pupilage.core.training.posterior.state import DogState
from pupilage.core.training.rewards.thinning import RATIOS
from pupilage.core.words import sentence

N_WEEKS = 8
ABSENCES_A_WEEK = 5
"""Practised absences that the plan counts on in a week (an assumption: one a day, two days without)."""

MOST_GROWTH = 1.25
"""A week's outing interval is at most so many times the week's before. Common practice is to go slowly; the figure is
ours. Where the curve for the age grows faster the family is not asked to."""

WEEKS_A_LEVEL = 2
MOST_RATIO = 3.0
"""Pay is thinned a level every two weeks, never beyond one in three: what common practice asks for at most."""


_OUTING = sentence("No longer than it can wait for the next outing.")


@dataclass(frozen=True)
class Span:
    """A week of the plan by its first and last day."""

    number: int
    first: date
    last: date


def weeks_from(handover_on: date, n: int = N_WEEKS) -> tuple[Span, ...]:
    """Return the weeks that follow a hand-over; the first begins on that day."""
    starts = [handover_on + timedelta(weeks=i) for i in range(n)]
    return tuple(Span(i + 1, start, start + timedelta(days=6)) for i, start in enumerate(starts))


def grow_slowly(forecast_min: Sequence[int]) -> tuple[int, ...]:
    """Return the minutes between outings by week: never shorter than before, never more than a quarter longer.

    Parameters: forecast_min, what the toilet model allows at the risk taken, at the age of each week. Steps of 5 min.
    """
    grown: list[int] = []
    for minutes in forecast_min:
        slow = minutes if not grown else min(max(minutes, grown[-1]), int(grown[-1] * MOST_GROWTH))
        grown.append(max(5, slow - slow % 5))
    return tuple(grown)


def grow_absences(
    told: Sequence[Absence],
    *,
    starts: Sequence[datetime],
    age_weeks_at: Callable[[datetime], float],
    ceiling_s: Sequence[float],
) -> tuple[float | None, ...]:
    """Return the longest absence of each week in seconds, if every one before it stays calm; None after panic.

    Model: `next_absence`, ABSENCES_A_WEEK of them a week, each added to the record as calm once it is over.
    Parameters: told, the record; starts, the first instant of each week; ceiling_s, the outing interval of each week.
    """
    record, longest = list(told), list[float | None]()
    for start, most_s in zip(starts, ceiling_s, strict=True):
        lengths = []
        for i in range(ABSENCES_A_WEEK):
            at = start + timedelta(days=i)
            age = max(0.0, age_weeks_at(at))
            following = next_absence(record, age_weeks=age, ceiling=Ceiling(most_s, _OUTING))
            if following.seconds is None:
                return (None,) * len(starts)
            lengths.append(following.seconds)
            record.append(Absence(at, following.seconds))
        longest.append(max(lengths))
    return tuple(longest)


def grow_ratio(level: int, week: int, *, always_paid: bool, sure: bool) -> float:
    """Return how many correct responses one pay stands for in a week (1-based).

    Parameters: level, in thinning.RATIOS, today; sure, whether the behaviour is sure at its goal today. What is not
    sure is paid every time, whatever the week.
    """
    if always_paid or not sure:
        return 1.0
    most = RATIOS.index(MOST_RATIO)
    return RATIOS[max(min(level, most), min(level + (week - 1) // WEEKS_A_LEVEL, most))]


@dataclass(frozen=True)
class Upkeep:
    """How often a behaviour needs a short practice. due_on: the first; every_days: from one to the next, 1 at least.

    p_then: by days without practice, the chance that a first try is met.
    """

    due_on: date
    every_days: int
    p_then: tuple[tuple[int, float], ...]


def plan_upkeep(state: DogState, behaviour: Behaviour, step: int, *, now: datetime, from_day: date) -> Upkeep | None:
    """Return when a behaviour is due and how often then, None for one that was never practised.

    Model: a practice restores what the last one had left, so the wait after each is the number of days after which a
    cold first try is expected to fall below LEAST_KEPT, found by bisection, at most the catalogue's own interval. A
    first try is one of a new day: what made the last day of practice a good or a bad one ends with the night.
    Parameters: step, its place from 0; from_day, the first day that counts.
    """
    last = state.last_day.get(behaviour.key)
    if last is None:
        return None
    fresh = now - timedelta(days=(now.astimezone(state.zone).date() - last).days)

    def kept(days: int) -> float:
        return cold_reading(state, behaviour.key, step, now=fresh + timedelta(days=days)).mean

    low, high = 0, behaviour.maintain_every_days
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if kept(middle) >= LEAST_KEPT else (low, middle - 1)
    idle = max(0, (from_day - last).days)
    p_then = tuple((n, kept(max(1, idle + n))) for n in (0, 7, 28))
    return Upkeep(max(from_day, last + timedelta(days=max(1, low))), max(1, low), p_then)
