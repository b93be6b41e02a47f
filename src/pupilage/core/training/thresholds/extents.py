"""Along one dimension, the others as at a step: the most that is met, in seconds, metres, degrees or places."""

from dataclasses import dataclass

import numpy as np

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.training.posterior.difficulty import (
    DISTANCE_UNIT_M,
    DURATION_UNIT_S,
    PER_DISTRACTION,
    PER_DOUBLING_OF_DISTANCE,
    PER_DOUBLING_OF_DURATION,
    PLACES,
    Dimension,
)
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.thresholds.chances import borne, quantiles
from pupilage.core.training.thresholds.ruler import WEIGHED, value_of, with_value
from pupilage.core.training.thresholds.weighing import Weighed
from pupilage.core.words import Sentence, sentence

P_SURE = 0.8
P_EVEN = 0.5

MIN_ELSEWHERE = 3
"""Tries needed at other values of a dimension than the one tried most, before its threshold counts as read from the
record (common practice, no source)."""

BEYOND_TRIED = 4.0
"""A duration or distance is told up to this multiple of the most that was tried, or to the list's most."""

NOWHERE = -1.0


@dataclass(frozen=True)
class Threshold:
    """The most of a dimension that is met with chance p: the median, and the ends of its 90 % interval.

    In seconds, metres, degrees of distraction, or the place's number in the order of `Place`; 0 of the first two, and
    -1 of the others, when not even the easiest is. `DimensionReading.most` stands for as much and more.
    """

    p: float
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class DimensionReading:
    """What is known along one dimension, the others as at the step.

    at_step: the step's own value. tried: the values of the record, from small to large. most: nothing is told beyond.
    from_record: whether the record speaks, or the figures are the assumptions we began with. factor: how much heavier
    than assumed the dimension weighs for this dog, median and 90 % interval. sure, even: met 8 in 10 times, and half
    of the time.
    """

    dimension: Dimension
    at_step: float
    tried: tuple[float, ...]
    most: float
    from_record: bool
    factor: tuple[float, float, float]
    sure: Threshold
    even: Threshold
    reason: Sentence


def is_changed(weighed: Weighed, dimension: Dimension) -> bool:
    """Say whether the list or the record asks for more than one value along a dimension."""
    listed = {value_of(step.criterion, dimension) for step in weighed.ruler.behaviour.steps}
    return len(listed | set(_tried(weighed, dimension))) > 1


def read_dimension(weighed: Weighed, dimension: Dimension, step: int) -> DimensionReading:
    """Return what is known along one of the four weighed dimensions at a step (its place in the list)."""
    criterion = weighed.ruler.behaviour.steps[step].criterion
    tried = _tried(weighed, dimension)
    elsewhere = sum(tried.values()) - max(tried.values(), default=0)
    low, middle, high = quantiles(weighed.factors[:, WEIGHED.index(dimension)], weighed.by_point)
    return DimensionReading(
        dimension=dimension,
        at_step=value_of(criterion, dimension),
        tried=tuple(sorted(tried)),
        most=most_told(weighed, dimension),
        from_record=elsewhere >= MIN_ELSEWHERE,
        factor=(middle, low, high),
        sure=threshold(weighed, dimension, step, P_SURE),
        even=threshold(weighed, dimension, step, P_EVEN),
        reason=_reason(len(tried), elsewhere),
    )


def threshold(weighed: Weighed, dimension: Dimension, step: int, p: float) -> Threshold:
    """Return the most of a dimension that is met with chance p (0.02 < p < 0.98), the others as at the step.

    Model: difficulty borne at p, less that of the step without the dimension, put back into its unit; weighted
    quantiles 0.05, 0.50 and 0.95 over all cells.
    """
    ruler = weighed.ruler
    without = with_value(ruler.behaviour.steps[step].criterion, dimension, 0.0)
    found = borne(weighed, p)
    bare = ruler.delta(weighed.factors, without, step)
    per_logit = ruler.scale * weighed.factors[:, WEIGHED.index(dimension)]
    spare = (found.value - bare[found.point]) / per_logit[found.point]
    values = np.minimum(_in_units(spare, dimension), most_told(weighed, dimension))
    low, middle, high = quantiles(values, found.weight)
    return Threshold(p, middle, low, high)


def most_told(weighed: Weighed, dimension: Dimension) -> float:
    """Return the most of a dimension that is told: the list's, or 4 times the longest or farthest tried."""
    listed = max(value_of(step.criterion, dimension) for step in weighed.ruler.behaviour.steps)
    if dimension not in (Dimension.DURATION, Dimension.DISTANCE):
        return listed
    return max(listed, BEYOND_TRIED * max(_tried(weighed, dimension), default=0.0))


def _in_units(spare: Floats, dimension: Dimension) -> Floats:
    """Return what so many logits buy of a dimension, in its unit."""
    if dimension is Dimension.DURATION:
        return _unlog(spare / PER_DOUBLING_OF_DURATION, DURATION_UNIT_S)
    if dimension is Dimension.DISTANCE:
        return _unlog(spare / PER_DOUBLING_OF_DISTANCE, DISTANCE_UNIT_M)
    if dimension is Dimension.DISTRACTION:
        return np.asarray(np.maximum(np.floor(spare / PER_DISTRACTION + 1e-9), NOWHERE))
    costs = np.array([PLACES[place] for place in Place])
    return np.asarray(np.searchsorted(costs, spare + 1e-9, side="right") + NOWHERE)


def _unlog(doublings: Floats, unit: float) -> Floats:
    return np.asarray(unit * (np.exp2(np.clip(doublings, 0.0, 60.0)) - 1.0))


def _tried(weighed: Weighed, dimension: Dimension) -> dict[float, int]:
    """Return how many tries the record has at each value of a dimension."""
    found: dict[float, int] = {}
    for one in weighed.rounds:
        criterion = weighed.ruler.behaviour.steps[one.step].criterion
        value = one.duration_s if dimension is Dimension.DURATION else value_of(criterion, dimension)
        found[value] = found.get(value, 0) + one.n
    return found


def _reason(n_values: int, elsewhere: int) -> Sentence:
    if elsewhere >= MIN_ELSEWHERE:
        return sentence("Read from tries at {n} values.", n=n_values)
    if n_values <= 1:
        return sentence("Tried at one value only: what more of it costs this pup is still our assumption.")
    return sentence(
        "Tried elsewhere {have} of {need} times needed: what more of it costs this pup is mostly our assumption.",
        have=elsewhere,
        need=MIN_ELSEWHERE,
    )
