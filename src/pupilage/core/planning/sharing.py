"""How the sessions left are shared among the goals: each goal's chance by its number of sessions, and a knapsack.

A goal that nothing can bring home gets no sessions, and one that is safe gets few: the sessions go where they lift
the expected weight of goals met most.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.outlook.chances import chance_with
from pupilage.core.training.outlook.course import Sessions, spread_sessions
from pupilage.core.training.posterior.state import Now

RATES = (0.0, 1 / 3, 2 / 3, 1.0, 1.5, 2.0)
"""Sessions a day that are weighed for a goal. Two of one behaviour are the most: common practice, no source."""

LEAST_GAIN = 0.01
"""Weight × chance below which more sessions are not taken: a smaller gain is within the forecast's own error."""


@dataclass(frozen=True)
class Curve:
    """The chance of a goal by its number of sessions: the numbers rise from 0, the chances (same length) in 0 to 1."""

    sessions: tuple[int, ...]
    p: tuple[float, ...]


@dataclass(frozen=True)
class Share:
    """A goal's sessions. p_without, p_with: its chance with none and with these; p_most: with all that can be held.

    worth: weight × chance gained a session, of these or, where there are none, of the best number there could be.
    """

    n_sessions: int
    p_without: float
    p_with: float
    p_most: float
    worth: float

    @property
    def is_left_out(self) -> bool:
        """Whether the goal gets no session though it is not safe without."""
        return self.n_sessions == 0 and self.p_without < 0.5


def curve_of(now: Now, *, step: int, target: int, n_days: int, first_day: int = 0, also: int | None = None) -> Curve:
    """Return a goal's chance by its number of sessions, spread evenly from `first_day` (0 is today) on.

    Model: `outlook.chance_with`; step, target are places (0-based); n_days, the days before the hand-over; also, a
    number of sessions that is asked for besides the usual ones.
    """
    room = max(0, n_days - first_day)
    numbers = sorted({round(rate * room) for rate in RATES} | ({also} if also and room else set()))
    plans = [Sessions((0,) * min(first_day, n_days) + spread_sessions(n, room).per_day) for n in numbers]
    return Curve(tuple(numbers), tuple(chance_with(now, step=step, target=target, sessions=plan) for plan in plans))


def share_out(curves: Mapping[str, Curve], weights: Mapping[str, float], n_sessions: int) -> dict[str, Share]:
    """Return each goal's share of n_sessions (0 or more), so that the expected weight of goals met is greatest.

    Model: the multiple-choice knapsack, solved exactly by dynamic programming over the sessions left; a further number
    is taken only where it gains LEAST_GAIN. Checked against `scipy.optimize.milp` in tests/external/test_sharing.py.
    Raises: InvalidInput for fewer than 0 sessions, a weight that is no figure of 0 or more, or no chance.
    """
    _require(curves, weights, n_sessions)
    keys = list(curves)
    best = np.zeros(n_sessions + 1)
    taken: list[np.ndarray] = []
    for key in keys:
        best, choice = _with_goal(best, curves[key], weights[key])
        taken.append(choice)
    shares: dict[str, Share] = {}
    left = n_sessions
    for key, choice in zip(reversed(keys), reversed(taken), strict=True):
        option = int(choice[left])
        shares[key] = _share(curves[key], weights[key], option)
        left -= curves[key].sessions[option]
    return {key: shares[key] for key in keys}


def shares_as_planned(
    curves: Mapping[str, Curve], weights: Mapping[str, float], numbers: Mapping[str, int]
) -> dict[str, Share]:
    """Return each goal's share where a plan has fixed its number of sessions; curves hold these numbers (`also`).

    A number that a curve does not hold, because there is no day for it, counts as the next smaller one.
    Raises: as `share_out`.
    """
    _require(curves, weights, sum(numbers.values()))
    return {
        key: _share(curve, weights[key], max(i for i, n in enumerate(curve.sessions) if n <= numbers[key]))
        for key, curve in curves.items()
    }


def _with_goal(best: np.ndarray, curve: Curve, weight: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the best value for every number of sessions with one goal more, and which of its options that takes."""
    total, choice = best + weight * curve.p[0], np.zeros(len(best), dtype=np.intp)
    for option, (n, p) in enumerate(zip(curve.sessions, curve.p, strict=True)):
        if n == 0 or n >= len(best):
            continue
        value = np.full(len(best), -np.inf)
        value[n:] = best[: len(best) - n] + weight * p
        better = value > total + LEAST_GAIN
        total, choice = np.where(better, value, total), np.where(better, option, choice)
    return total, choice


def _share(curve: Curve, weight: float, option: int) -> Share:
    p = curve.p
    options = [option] if curve.sessions[option] else range(1, len(p))
    worth = max((weight * (p[i] - p[0]) / curve.sessions[i] for i in options), default=0.0)
    return Share(curve.sessions[option], p[0], p[option], max(p), max(0.0, worth))


def _require(curves: Mapping[str, Curve], weights: Mapping[str, float], n_sessions: int) -> None:
    if not n_sessions >= 0:
        raise InvalidInput.of("sessions", "{n} sessions cannot be shared; give 0 or more.", n=n_sessions)
    for key, curve in curves.items():
        if not 0.0 <= weights[key] < float("inf"):
            raise InvalidInput.of("weight", "A goal's weight of {weight} cannot be; give 1 to 5.", weight=weights[key])
        if not _is_sound(curve.sessions, curve.p):
            raise InvalidInput.of("curve", "The chances of “{key}” are no chances by number of sessions.", key=key)


def _is_sound(sessions: Sequence[int], p: Sequence[float]) -> bool:
    rising = all(a < b for a, b in pairwise(sessions))
    return len(sessions) == len(p) > 0 and sessions[0] == 0 and rising and all(0.0 <= x <= 1.0 for x in p)
