"""The chance of a try at any criterion, a step's own or one in between, from what `weighing` believes."""

from dataclasses import dataclass

import numpy as np

from pupilage.core.catalogue.behaviour import Criterion
from pupilage.core.training.posterior.learners import FORMS, GUESS, LAPSE, Floats, p_met_by_levels, sigmoid
from pupilage.core.training.posterior.reading import N_BINS, Reading
from pupilage.core.training.thresholds.weighing import Places, Weighed

SPAN = 1.0 - GUESS - LAPSE
FORM_AXIS = FORMS[None, :, None]


@dataclass(frozen=True)
class Cells:
    """One figure for every cell of a belief: skill cells first, then points x forms x mastered levels."""

    value: Floats
    point: Places
    weight: Floats


def cells(weighed: Weighed, by_skill: Floats, by_levels: Floats) -> Cells:
    """Return figures (A,) of the skill cells and (P, 3, L + 1) of the levels beside their points and weights."""
    weight = weighed.mass[:, None, None] * weighed.mastery
    point = np.broadcast_to(np.arange(len(weighed.mass))[:, None, None], weight.shape)
    levels = np.broadcast_to(by_levels, weight.shape)
    return Cells(
        np.concatenate((by_skill, levels.ravel())),
        np.concatenate((weighed.point, point.ravel())),
        np.concatenate((weighed.weight, weight.ravel())),
    )


def chance(weighed: Weighed, criterion: Criterion, step: int) -> Cells:
    """Return the chance of a try, not tired, at a criterion near a step (its place in the list), for every cell.

    Model: 0.02 + 0.96 sigmoid(ability - difficulty). The learners by levels have their own chance at a step; between
    the steps its logit is interpolated by difficulty, and falls by one a logit beyond the hardest.
    Raises: InvalidInput for a figure that is no duration, distance or latency.
    """
    steps = weighed.ruler.behaviour.steps
    delta = weighed.ruler.delta(weighed.factors, criterion, step)
    by_skill = GUESS + SPAN * sigmoid(weighed.ability - delta[weighed.point])
    if criterion == steps[step].criterion:
        by_levels = p_met_by_levels(len(steps), step, form=FORMS[:, None])[None]
    else:
        by_levels = np.clip(sigmoid(_between_levels(weighed, delta)[:, None, :] + FORM_AXIS), GUESS, 1.0 - LAPSE)
    return cells(weighed, by_skill, by_levels)


def read_criterion(weighed: Weighed, criterion: Criterion, step: int) -> Reading:
    """Return the chance of a try at a criterion near a step, with its whole posterior. See `chance`."""
    return reading_of(chance(weighed, criterion, step))


def reading_of(found: Cells) -> Reading:
    """Return the mean and the posterior of the chances of all cells."""
    bins = np.minimum(N_BINS - 1, (found.value * N_BINS).astype(np.intp))
    mass = np.bincount(bins, found.weight, N_BINS)
    total = float(mass.sum())
    return Reading(float(found.value @ found.weight) / total, mass=np.asarray(mass / total))


def level_curves(weighed: Weighed) -> tuple[Floats, Floats]:
    """Return difficulties (P, L), from easy to hard, and the logit (P, L, L + 1) of a try there by mastered levels.

    A step that is harder than another is met no more often: the logits are the smallest so far.
    """
    steps = weighed.ruler.behaviour.steps
    n = len(steps)
    delta = np.stack([weighed.ruler.delta(weighed.factors, s.criterion, i) for i, s in enumerate(steps)], axis=1)
    p = np.stack([np.asarray(p_met_by_levels(n, level)) for level in range(n)])
    order = np.argsort(delta, axis=1, kind="stable")
    logits = np.minimum.accumulate(np.log(p / (1.0 - p))[order], axis=1)
    return np.take_along_axis(delta, order, axis=1), logits


def _between_levels(weighed: Weighed, delta: Floats) -> Floats:
    """Return the logit (P, L + 1) of a try at difficulties (P,), by mastered levels, on a middling day."""
    knots, logits = level_curves(weighed)
    n = knots.shape[1]
    above = np.minimum((knots < delta[:, None]).sum(1), n - 1)
    below = np.maximum(above - 1, 0)
    rows = np.arange(len(delta))
    width = np.maximum(1e-9, knots[rows, above] - knots[rows, below])
    share = np.clip((delta - knots[rows, below]) / width, 0.0, 1.0)[:, None]
    beyond = np.maximum(0.0, delta - knots[:, -1])[:, None]
    return np.asarray((1.0 - share) * logits[rows, below] + share * logits[rows, above] - beyond)


def borne(weighed: Weighed, p: float) -> Cells:
    """Return for every cell the difficulty at which a try is met with chance p; -inf where none is so easy."""
    wanted = float(np.log((p - GUESS) / (1.0 - LAPSE - p)))
    knots, logits = level_curves(weighed)
    asked = float(np.log(p / (1.0 - p))) - FORMS[None, :, None]
    enough = (logits[:, None] >= asked[..., None, :] - 1e-12).sum(2)
    return cells(weighed, weighed.ability - wanted, _crossing(knots, logits, asked, enough))


def _crossing(knots: Floats, logits: Floats, asked: Floats, n_enough: Places) -> Floats:
    """Return where (P, 3, L + 1) the curves come down to a logit; n_enough counts the knots that are above it."""
    n = knots.shape[1]
    last = np.clip(n_enough - 1, 0, n - 1)
    after = np.minimum(last + 1, n - 1)
    rows = np.arange(len(knots))[:, None, None]
    mastered = np.arange(logits.shape[2])[None, None, :]
    high, low = logits[rows, last, mastered], logits[rows, after, mastered]
    share = np.clip((high - asked) / np.maximum(1e-9, high - low), 0.0, 1.0)
    inside = knots[rows, last] + share * (knots[rows, after] - knots[rows, last])
    found = np.where(n_enough == n, knots[rows, last] + high - asked, inside)
    return np.asarray(np.where(n_enough == 0, -np.inf, found))


def quantiles(values: Floats, weights: Floats) -> tuple[float, float, float]:
    """Return the weighted quantiles 0.05, 0.50 and 0.95: values that occur, none in between."""
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    places = np.searchsorted(reached, np.array([0.05, 0.5, 0.95]) * reached[-1])
    low, middle, high = values[order][np.minimum(places, len(values) - 1)]
    return float(low), float(middle), float(high)
