"""How to meet an item next: nearer or stronger only after the pup was at ease, one thing at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.care.exposures.item import LEAST_INTENSITY, ExposureItem
from pupilage.core.care.exposures.log import AT_EASE, Exposure, Response

EASE_TO_RAISE = 2
EASE_OF = {Response.CURIOUS: 2, Response.CALM: 1}
"""Twice calm, or once curious, before one thing gets harder: a pup that goes closer by itself sets the pace (common
practice, no source)."""

FARTHER = 2.0
NEARER = 0.5
MOST_M = 200.0
"""Distances are doubled and halved (common practice, no source)."""


class Change(StrEnum):
    """What is different next time. Stored values are fixed for good."""

    BEGIN = "begin"
    SAME = "same"
    NEARER = "nearer"
    STRONGER = "stronger"
    EASED = "eased"
    RETURN = "return"
    """After it was too much: weaker and farther away."""
    VARIED = "varied"
    """As strong and near as wanted: the same with somebody else or somewhere else."""


@dataclass(frozen=True)
class NextMeeting:
    """How to meet an item next. intensity: 1 to 5; distance_m: None where none was written down or it says nothing."""

    intensity: int
    distance_m: float | None
    change: Change


def next_meeting(item: ExposureItem, met: Sequence[Exposure], *, was_setback: bool) -> NextMeeting:
    """Return how to meet an item next, after its entries in time order.

    was_setback: whether the last of them was too much. Source of raising one thing and easing the other: handbook
    advice on duration, distance and distraction (from memory).
    """
    if not met:
        return NextMeeting(LEAST_INTENSITY, item.first_m, Change.BEGIN)
    last = met[-1]
    if was_setback:
        return _return(item, last)
    if last.response is Response.UNSURE:
        return _after_unsure(item, met)
    if _ease(met) < EASE_TO_RAISE:
        return NextMeeting(min(last.intensity, item.target), last.distance_m, Change.SAME)
    return _raised(item, last)


def _return(item: ExposureItem, last: Exposure) -> NextMeeting:
    """Return the meeting after one that was too much: two intensities weaker after great fear, else one."""
    weaker = 2 if last.response is Response.AFRAID else 1
    intensity = max(LEAST_INTENSITY, min(last.intensity, item.target) - weaker)
    return NextMeeting(intensity, _farther(item, last), Change.RETURN)


def _after_unsure(item: ExposureItem, met: Sequence[Exposure]) -> NextMeeting:
    """Return the same again; after twice unsure something weaker, or farther away where it is weak already."""
    last = met[-1]
    intensity = min(last.intensity, item.target)
    if len(met) < 2 or met[-2].response is not Response.UNSURE:
        return NextMeeting(intensity, last.distance_m, Change.SAME)
    if intensity > LEAST_INTENSITY:
        return NextMeeting(intensity - 1, last.distance_m, Change.EASED)
    return NextMeeting(intensity, _farther(item, last), Change.EASED)


def _farther(item: ExposureItem, last: Exposure) -> float | None:
    if item.first_m is None:
        return last.distance_m
    return item.first_m if last.distance_m is None else min(MOST_M, max(last.distance_m * FARTHER, item.first_m))


def _ease(met: Sequence[Exposure]) -> int:
    """Return how much ease there was in a row at the last setting, the newest first."""
    last, ease = met[-1], 0
    for one in reversed(met):
        if one.response not in AT_EASE or (one.intensity, one.distance_m) != (last.intensity, last.distance_m):
            break
        ease += EASE_OF[one.response]
    return ease


def _raised(item: ExposureItem, last: Exposure) -> NextMeeting:
    """Return the meeting that is one thing harder: nearer first; then stronger, and that from farther away."""
    distance_m, nearest_m = last.distance_m, item.nearest_m
    if last.intensity > item.target:
        return NextMeeting(item.target, distance_m, Change.VARIED)
    if distance_m is not None and nearest_m is not None and distance_m > nearest_m:
        return NextMeeting(last.intensity, max(nearest_m, round(distance_m * NEARER, 1)), Change.NEARER)
    if last.intensity == item.target:
        return NextMeeting(item.target, distance_m, Change.VARIED)
    back_m = distance_m
    if distance_m is not None and item.first_m is not None:
        back_m = max(distance_m, min(item.first_m, distance_m * FARTHER))
    return NextMeeting(last.intensity + 1, back_m, Change.STRONGER)
