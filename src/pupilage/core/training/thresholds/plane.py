"""Two dimensions at once: the chance of a try at every pair of values, and how well the record knows it."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from math import log

import numpy as np

from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.chances import read_criterion
from pupilage.core.training.thresholds.extents import is_changed
from pupilage.core.training.thresholds.ruler import value_of, with_value
from pupilage.core.training.thresholds.weighing import Weighed

MOST_VALUES = 6
"""Of a dimension in one map: what a phone's width carries."""

MAPPED = (Dimension.DURATION, Dimension.DISTANCE, Dimension.DISTRACTION)

SHARP_LOGITS, FADED_LOGITS = 1.0, 6.0
"""A cell whose 90 % interval is one logit wide (0.62 to 0.82) or less is as sharp as it gets; at six, as faint."""


@dataclass(frozen=True)
class PlaneCell:
    """The chance of a try with these values, the rest as at the step; n: tries of the record there."""

    x: float
    y: float
    p: float
    low: float
    high: float
    n: int

    @property
    def sharpness(self) -> float:
        """How well the chance is known, from 0 to 1, by its interval's width in logits.

        Near none and near all every interval is short in per cent; those ends are not better known for it.
        """
        width = _logit(self.high) - _logit(self.low)
        return float(np.clip((FADED_LOGITS - width) / (FADED_LOGITS - SHARP_LOGITS), 0.0, 1.0))


@dataclass(frozen=True)
class Plane:
    """The map of two dimensions: its values along each, and a cell for every pair."""

    x: Dimension
    y: Dimension
    x_values: tuple[float, ...]
    y_values: tuple[float, ...]
    cells: tuple[PlaneCell, ...]

    @property
    def n_tried(self) -> int:
        """The pairs at which anything was tried."""
        return sum(cell.n > 0 for cell in self.cells)


def read_plane(weighed: Weighed, step: int) -> Plane | None:
    """Return the map at a step (its place in the list), or None for a behaviour with fewer than two dimensions to map.

    Of duration, distance and distraction the two of which the record has most values, then the list.
    Model: `chances.chance` at every pair, other dimensions as at the step, nobody tired.
    Checked in tests/unit/training/test_plane.py.
    """
    pair = _pair(weighed)
    if pair is None:
        return None
    x, y = pair
    x_values, y_values = (_values(weighed, one, step) for one in pair)
    counts = _counts(weighed, x, y, x_values, y_values)
    cells = tuple(
        _cell(weighed, step, (x, first), (y, second), counts.get((first, second), 0))
        for first in x_values
        for second in y_values
    )
    return Plane(x, y, x_values, y_values, cells)


def _cell(weighed: Weighed, step: int, x: tuple[Dimension, float], y: tuple[Dimension, float], n: int) -> PlaneCell:
    criterion = weighed.ruler.behaviour.steps[step].criterion
    for dimension, value in (x, y):
        criterion = with_value(criterion, dimension, value)
    reading = read_criterion(weighed, criterion, step)
    return PlaneCell(x[1], y[1], reading.mean, *reading.interval(), n)


def _pair(weighed: Weighed) -> tuple[Dimension, Dimension] | None:
    """Return the two dimensions that tell most; the earlier of MAPPED lies along the page."""
    changed = [one for one in MAPPED if is_changed(weighed, one)]
    if len(changed) < 2:
        return None

    def tells(pair: tuple[Dimension, Dimension]) -> tuple[int, int]:
        tried = sum(min(2, len(_tried(weighed, one))) for one in pair)
        return tried, sum(len(_listed(weighed, one) | _tried(weighed, one)) for one in pair)

    return max(combinations(changed, 2), key=tells)


def _listed(weighed: Weighed, dimension: Dimension) -> set[float]:
    return {value_of(step.criterion, dimension) for step in weighed.ruler.behaviour.steps}


def _tried(weighed: Weighed, dimension: Dimension) -> set[float]:
    return {_value(weighed, dimension, place) for place in range(len(weighed.rounds))}


def _value(weighed: Weighed, dimension: Dimension, place: int) -> float:
    one = weighed.rounds[place]
    if dimension is Dimension.DURATION:
        return one.duration_s
    return value_of(weighed.ruler.behaviour.steps[one.step].criterion, dimension)


def _values(weighed: Weighed, dimension: Dimension, step: int) -> tuple[float, ...]:
    """Return the list's values, thinned evenly to MOST_VALUES; both ends and the step's own stay."""
    listed = sorted(_listed(weighed, dimension))
    if len(listed) <= MOST_VALUES:
        return tuple(listed)
    own = value_of(weighed.ruler.behaviour.steps[step].criterion, dimension)
    even = {listed[round(i * (len(listed) - 1) / (MOST_VALUES - 1))] for i in range(MOST_VALUES)}
    if own not in even:
        nearest = min(even - {listed[0], listed[-1]}, key=lambda one: abs(one - own))
        even = even - {nearest} | {own}
    return tuple(sorted(even))


def _counts(
    weighed: Weighed, x: Dimension, y: Dimension, x_values: Iterable[float], y_values: Iterable[float]
) -> dict[tuple[float, float], int]:
    """Return the record's tries by cell: each at the nearest values, near by factor where a dimension is one."""
    x_values, y_values = tuple(x_values), tuple(y_values)
    found: dict[tuple[float, float], int] = {}
    for place, one in enumerate(weighed.rounds):
        cell = _nearest(_value(weighed, x, place), x_values), _nearest(_value(weighed, y, place), y_values)
        found[cell] = found.get(cell, 0) + one.n
    return found


def _nearest(value: float, values: tuple[float, ...]) -> float:
    return min(values, key=lambda one: abs(log(1.0 + max(0.0, one)) - log(1.0 + max(0.0, value))))


def _logit(p: float) -> float:
    inside = min(1.0 - 1e-3, max(1e-3, p))
    return log(inside / (1.0 - inside))
