"""How a threshold is written: the most of a dimension that the pup can bear."""

from collections.abc import Mapping

from django.utils.translation import gettext

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.extents import DimensionReading, Threshold
from pupilage.reports.formatting import show_distance, show_seconds


def show_threshold(reading: DimensionReading, found: Threshold, places: Mapping[Place, object]) -> str:
    """Return the most of a dimension, such as `12 s`, `2 of 5` or `30 s or more`. places: a word for each place."""
    return _shown(reading, found.value, places)


def show_threshold_range(reading: DimensionReading, found: Threshold, places: Mapping[Place, object]) -> str:
    """Return the 90 % interval of a threshold, such as `5 s … 30 s or more`; one figure where both ends agree."""
    low, high = (_shown(reading, value, places) for value in (found.low, found.high))
    return low if low == high else f"{low} … {high}"


def show_amount(dimension: Dimension, value: float, places: Mapping[Place, object]) -> str:
    """Return a value of a dimension, such as `12 s`, `3 m`, `2 of 5` or a place."""
    if dimension is Dimension.DURATION:
        return show_seconds(value)
    if dimension is Dimension.DISTANCE:
        return show_distance(value)
    if dimension is Dimension.DISTRACTION:
        return gettext("{n} of 5").format(n=round(value))
    return str(places[tuple(Place)[round(value)]])


def _shown(reading: DimensionReading, value: float, places: Mapping[Place, object]) -> str:
    steady = reading.dimension in (Dimension.DURATION, Dimension.DISTANCE)
    if value < 0.0 or (steady and value < 0.05):
        return gettext("none yet")
    amount = show_amount(reading.dimension, _countable(value) if steady else value, places)
    if value < reading.most:
        return amount
    if reading.dimension is Dimension.PLACE:
        return gettext("{place} or harder").format(place=amount)
    return gettext("{amount} or more").format(amount=amount)


def _countable(value: float) -> float:
    """Return a figure no finer than the estimate: tenths below ten, whole above."""
    return float(round(value)) if value >= 10.0 else round(value, 1)
