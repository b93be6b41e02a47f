"""A skill that wanders and drifts from trial to trial: exact filter and smoother on a grid, and its fit to many dogs.

It knows neither steps nor nights. It draws the curve of a past record, and it is the plainest model against which the
engine's arithmetic is checked on published data.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.learners import Floats, sigmoid

GRID = np.linspace(-10.0, 8.0, 181)
"""181 points give the chance to 1e-6 of 2,601 (tests/external/test_random_walk.py)."""

LEAST_SD, MOST_SD = 0.12, 5.0


class Link(StrEnum):
    """How the skill becomes a chance: the logistic curve, or the normal one (a distribution function)."""

    LOGISTIC = "logistic"
    NORMAL = "normal"

    def chance(self, skill: Floats) -> Floats:
        """Return the chance at each skill."""
        if self is Link.LOGISTIC:
            return np.asarray(sigmoid(skill))
        from scipy.special import ndtr

        return np.asarray(ndtr(skill))


@dataclass(frozen=True)
class Walk:
    """A walk of the skill: start ~ N(mean, sd^2); an outcome moves it by a drift, each step adds N(0, step_sd^2).

    All in units of the link. step_sd is above 0, and at least about one step of the grid (0.1), or the kernel falls
    between its points.
    """

    mean: float
    sd: float
    step_sd: float
    drift_met: float = 0.0
    drift_missed: float = 0.0
    link: Link = Link.LOGISTIC


@dataclass(frozen=True)
class Curve:
    """What a record says of each trial: p before it was seen, after it, and with all trials known; (n, T) arrays."""

    predicted: Floats
    filtered: Floats
    smoothed: Floats
    log_likelihood: Floats


def kernel(drift: float, step_sd: float, grid: Floats = GRID) -> Floats:
    """Return K[i, j] = P(from grid[i] to grid[j]) of a Gaussian step, rows adding up to 1."""
    density = np.exp(-0.5 * ((grid[None, :] - grid[:, None] - drift) / step_sd) ** 2)
    return np.asarray(density / density.sum(1, keepdims=True))


def walk_through(met: Floats, walk: Walk, *, steps_before_first: int = 0, grid: Floats = GRID) -> Curve:
    """Return the curves of n records of T trials; met is (n, T) of 0 and 1.

    Model: x' = x + drift of the last outcome + N(0, step_sd^2); P(met) = link(x). Sums on the grid.
    Raises: InvalidInput for outcomes that are neither 0 nor 1, or a spread that is not above 0.
    Source: Smith et al., 2004, J. Neurosci. 24:447-461 (state-space model of learning), here without a Gaussian
    approximation; checked in tests/external/test_random_walk.py.
    """
    _require(met, walk)
    past = _filter(met, walk, steps_before_first, grid)
    p = walk.link.chance(grid)
    return Curve(past.predicted, past.kept @ p, _smoothed(met, past, p), _log_likelihood(met, past.predicted))


@dataclass(frozen=True)
class _Past:
    """predicted (n, T); kept (n, T, points), the belief after each trial; moves: the kernels of one missed, one met."""

    predicted: Floats
    kept: Floats
    moves: tuple[Floats, Floats]


def _filter(met: Floats, walk: Walk, steps_before_first: int, grid: Floats) -> _Past:
    n, n_trials = met.shape
    p = walk.link.chance(grid)
    moves = kernel(walk.drift_missed, walk.step_sd, grid), kernel(walk.drift_met, walk.step_sd, grid)
    belief = np.exp(-0.5 * ((grid - walk.mean) / walk.sd) ** 2)
    for _ in range(steps_before_first):
        belief = belief @ kernel(0.0, walk.step_sd, grid)
    belief = np.tile(belief / belief.sum(), (n, 1))
    predicted, kept = np.empty((n, n_trials)), np.empty((n, n_trials, len(grid)))
    for t in range(n_trials):
        predicted[:, t] = belief @ p
        belief = belief * np.where(met[:, t, None] > 0.5, p, 1.0 - p)
        belief /= belief.sum(1, keepdims=True)
        kept[:, t] = belief
        belief = _moved(belief, met[:, t] > 0.5, moves)
    return _Past(predicted, kept, moves)


def _moved(belief: Floats, was_met: Any, moves: tuple[Floats, Floats]) -> Floats:
    after = np.empty_like(belief)
    for outcome, move in zip((~was_met, was_met), moves, strict=True):
        after[outcome] = belief[outcome] @ move
    return after


def _log_likelihood(met: Floats, predicted: Floats) -> Floats:
    return np.asarray(np.log(np.where(met > 0.5, predicted, 1.0 - predicted)).sum(1))


def _smoothed(met: Floats, past: _Past, p: Floats) -> Floats:
    n, n_trials = met.shape
    smoothed, later = np.empty((n, n_trials)), np.ones((n, len(p)))
    back = past.moves[0].T, past.moves[1].T
    for t in reversed(range(n_trials)):
        joint = past.kept[:, t] * later
        smoothed[:, t] = (joint @ p) / joint.sum(1)
        if t:
            ahead = later * np.where(met[:, t, None] > 0.5, p, 1.0 - p)
            later = _moved(ahead, met[:, t - 1] > 0.5, back)
            later /= later.max(1, keepdims=True)
    return smoothed


def _require(met: Floats, walk: Walk) -> None:
    if met.ndim != 2 or not np.isin(met, (0.0, 1.0)).all():
        raise InvalidInput.of("met", "Outcomes are a table of 0 and 1, a row a record; something else was given.")
    if not (walk.sd > 0.0 and walk.step_sd > 0.0 and np.isfinite([walk.mean, walk.drift_met, walk.drift_missed]).all()):
        raise InvalidInput.of("walk", "A walk needs finite drifts and spreads above 0; {given}.", given=repr(walk))


def fit_walk(met: Floats, start: Walk, *, one_drift: bool = False, grid: Floats = GRID) -> Walk:
    """Return the walk of greatest likelihood for these records, by Nelder and Mead's simplex from `start`.

    one_drift: an outcome met and one missed move the skill alike; taken from start.drift_met.
    Spreads are kept between 0.12 and 5, the link is that of `start`. Deterministic.
    """
    from scipy.optimize import minimize

    def walk_of(x: Floats) -> Walk:
        sd, step_sd = np.clip(np.exp(x[1:3]), LEAST_SD, MOST_SD)
        return Walk(float(x[0]), float(sd), float(step_sd), float(x[3]), float(x[-1]), start.link)

    def cost(x: Any) -> float:
        return -float(_log_likelihood(met, _filter(met, walk_of(x), 0, grid).predicted).sum())

    _require(met, start)

    drifts = [start.drift_met] if one_drift else [start.drift_met, start.drift_missed]
    x0 = np.array([start.mean, np.log(start.sd), np.log(start.step_sd), *drifts])
    options: Any = {"xatol": 2e-3, "fatol": 1e-3, "maxfev": 400}
    found: Any = minimize(cost, x0, method="Nelder-Mead", options=options)
    return walk_of(found.x)
