"""How hard a criterion is for a dog to whom the dimensions may weigh more or less than the shipped figures say."""

from dataclasses import dataclass, replace

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour, Criterion, Place
from pupilage.core.training.posterior.difficulty import PER_STEP, Dimension, dimension_logits, ladder_of
from pupilage.core.training.posterior.learners import Floats

WEIGHED = (Dimension.DURATION, Dimension.DISTANCE, Dimension.DISTRACTION, Dimension.PLACE)
"""The dimensions that a dog may take harder or easier; the order of every array of factors."""


@dataclass(frozen=True)
class Ruler:
    """Measures how hard a criterion is, given factors; 0 is the behaviour's first step. See `difficulty.Ladder`."""

    behaviour: Behaviour
    scale: float

    def parts(self, criterion: Criterion) -> tuple[Floats, float]:
        """Return the logits (4,) of the weighed dimensions at factor 1, and those of prompt and latency.

        Raises: InvalidInput for a figure that is no duration, distance or latency.
        """
        logits = dimension_logits(criterion)
        rest = logits[Dimension.PROMPT] + logits[Dimension.LATENCY]
        return np.array([logits[dimension] for dimension in WEIGHED]), rest

    def delta(self, factors: Floats, criterion: Criterion, step: int) -> Floats:
        """Return the difficulty (P,) of a criterion near a step (its place in the list), for factors (P, 4)."""
        parts, rest = self.parts(criterion)
        first, first_rest = self.parts(self.behaviour.steps[0].criterion)
        return np.asarray(self.scale * (factors @ (parts - first) + rest - first_rest + PER_STEP * step))

    def delta_at_duration(self, factors: Floats, step: int, duration_s: float) -> Floats:
        """Return the difficulty (P,) of a step when this duration is asked for instead of its own."""
        return self.delta(factors, replace(self.behaviour.steps[step].criterion, duration_s=duration_s), step)


def ruler_of(behaviour: Behaviour) -> Ruler:
    """Return the ruler of a behaviour."""
    return Ruler(behaviour, ladder_of(behaviour).scale)


def value_of(criterion: Criterion, dimension: Dimension) -> float:
    """Return a criterion's value along a weighed dimension; a place's number in the order of `Place`."""
    values = {
        Dimension.DURATION: criterion.duration_s,
        Dimension.DISTANCE: criterion.distance_m,
        Dimension.DISTRACTION: float(criterion.distraction),
        Dimension.PLACE: float(tuple(Place).index(criterion.place)),
    }
    return values[dimension]


def with_value(criterion: Criterion, dimension: Dimension, value: float) -> Criterion:
    """Return the criterion with another value along a weighed dimension; see `value_of`."""
    if dimension is Dimension.DURATION:
        return replace(criterion, duration_s=value)
    if dimension is Dimension.DISTANCE:
        return replace(criterion, distance_m=value)
    if dimension is Dimension.DISTRACTION:
        return replace(criterion, distraction=round(value))
    return replace(criterion, place=tuple(Place)[round(value)])
