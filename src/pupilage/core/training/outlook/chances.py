"""The chance that a goal is met in a cold test at hand-over, from the grid: as planned, without work, with more.

The test is 8 of 10 at the goal's step, the day's form unknown. Read with its ceiling: ten tries are ten coin tosses,
and even a pup whose true chance is 0.90 fails seven such tests in a hundred.
"""

from dataclasses import dataclass

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.outlook.course import Dogs, Sessions, chances_in_test, run_course
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.reading import chance_of_test
from pupilage.core.training.posterior.state import Now

BEST_P = 0.90
"""The chance of a trial that long practice at a step leads to (`learners.ASYMPTOTE`)."""

CEILING = float(chance_of_test(np.array(BEST_P)))

SHARE_AT_THE_ENDS = 0.2


@dataclass(frozen=True)
class Outlook:
    """Chances of the goal, 0 to 1.

    planned, without_work, one_more_a_day: under the sessions planned, under none, under one more on every day.
    low, high: as planned, for the fifth of the dogs still possible that learn slowest, and quickest.
    ceiling: the chance of the test for a dog at BEST_P.
    """

    planned: float
    without_work: float
    one_more_a_day: float
    low: float
    high: float
    ceiling: float


def chance_with(now: Now, *, step: int, target: int, sessions: Sessions) -> float:
    """Return the chance of a goal under these sessions. Model and parameters as `look_ahead`."""
    _require_places(now, step, target)
    ready = run_course(now, step, sessions)
    return float(chances_in_test(ready, float(now.ladder.delta[target]), target).mean())


def look_ahead(now: Now, *, step: int, target: int, sessions: Sessions) -> Outlook:
    """Return the chances of a goal.

    Model: `course.run_course` for 512 dogs from the posterior, sets of five, nights; then P(8 of 10) averaged over the
    day's form. Deterministic.
    Parameters: step, target: places (0-based) of the step in practice and of the goal's; sessions from today to the
    day before the hand-over.
    Raises: InvalidInput for a place that the list does not have, or fewer than 0 sessions.
    Checked by simulation in tests/unit/training/test_outlook.py.
    """
    _require_places(now, step, target)
    require_sessions(sessions)
    more = Sessions(tuple(n + 1 for n in sessions.per_day))
    none = Sessions((0,) * sessions.n_days)
    planned, idle, busier = (run_course(now, step, plan) for plan in (sessions, none, more))
    delta = float(now.ladder.delta[target])
    by_dog = chances_in_test(planned, delta, target)
    low, high = _ends(planned, by_dog)
    mean = float(by_dog.mean())
    return Outlook(
        planned=mean,
        without_work=float(chances_in_test(idle, delta, target).mean()),
        one_more_a_day=float(chances_in_test(busier, delta, target).mean()),
        low=min(mean, low),
        high=max(mean, high),
        ceiling=CEILING,
    )


def _ends(dogs: Dogs, by_dog: Floats) -> tuple[float, float]:
    order = np.argsort(dogs.rate, kind="stable")
    n = max(1, int(SHARE_AT_THE_ENDS * len(order)))
    return float(by_dog[order[:n]].mean()), float(by_dog[order[-n:]].mean())


def require_sessions(sessions: Sessions) -> None:
    """Refuse days with fewer than 0 sessions. Raises InvalidInput."""
    if any(not count >= 0 for count in sessions.per_day):
        raise InvalidInput.of("sessions", "Fewer than 0 sessions cannot be on a day; give 0 or more.")


def _require_places(now: Now, step: int, target: int) -> None:
    n = len(now.ladder.keys)
    for name, place in (("step", step), ("target", target)):
        if not 0 <= place < n:
            raise InvalidInput.of(name, "{place} is no place in a list of {n} steps; count from 0.", place=place, n=n)
