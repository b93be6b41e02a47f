"""What is expected of any pup of an age: the pooled curve of the hazard, by what the pup is doing and what happened.

No counts for pups of 8 to 16 weeks are published; every figure below is our own choice, from the confinement rule of
thumb (age in months + 1 hours) and from memory of common practice. A pup's own record replaces them: see `record.py`.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

import numpy as np

from pupilage.core.care.confinement import Trigger, max_confinement_hours
from pupilage.core.care.toilet.hazards import Hazards
from pupilage.core.care.toilet.rates import Rates


class Need(StrEnum):
    """What comes. Stored values are fixed for good."""

    WEE = "wee"
    POO = "poo"


class Doing(StrEnum):
    """What the pup is doing. Stored values are fixed for good."""

    AWAKE = "awake"
    RESTING = "resting"
    NIGHT = "night"


POWER = 3
"""The hazard grows with the square of the time since the last elimination (a Weibull law of shape 3)."""

SCALE_OF_CEILING: dict[tuple[Need, Doing], float] = {
    (Need.WEE, Doing.AWAKE): 0.65,
    (Need.WEE, Doing.RESTING): 1.5,
    (Need.WEE, Doing.NIGHT): 3.0,
    (Need.POO, Doing.AWAKE): 1.8,
    (Need.POO, Doing.RESTING): 4.0,
    (Need.POO, Doing.NIGHT): 7.0,
}
"""The scale of the law as a share of the confinement rule's hours. At ten weeks one pup in twenty has weed 48 minutes
after the last time when awake, 110 in a nap and 220 at night (the handbooks' 30–60 minutes, their ceiling, and one or
two outings a night)."""

WINDOWS: dict[Trigger, tuple[float, dict[Need, float]]] = {
    Trigger.WOKE: (15.0, {Need.WEE: 4.0, Need.POO: 4.0}),
    Trigger.LEFT_CRATE: (15.0, {Need.WEE: 2.0, Need.POO: 1.5}),
    Trigger.ATE: (35.0, {Need.WEE: 2.0, Need.POO: 8.0}),
    Trigger.DRANK: (30.0, {Need.WEE: 2.0, Need.POO: 1.0}),
    Trigger.PLAYED: (15.0, {Need.WEE: 3.0, Need.POO: 2.0}),
}
"""For so many minutes after each, the hazard of a pup that is awake is so many times as high (from memory)."""

CUTS = (0.36, 0.72)
"""Shares of the scale at which a new cell begins: 47 and 94 minutes for a pup of ten weeks that is awake."""

N_STRETCHES = len(CUTS) + 1
CELLS = tuple((doing, stretch) for doing in Doing for stretch in range(N_STRETCHES))
_EDGES = (*CUTS, math.inf)
_FIRST = {doing: place * N_STRETCHES for place, doing in enumerate(Doing)}

OWN_EVENTS = 1.33
"""How sure the curve is of a pup's own factor. Scales of pups are taken to differ by 35 % (log-normal), so the log of a
hazard has a standard deviation of 1.05; so has the log of a Gamma of shape 1.33 (trigamma(1.33) = 1.05²)."""

CELL_EVENTS = 10.0
"""How sure the curve is of one cell beside the others: only accidents and dry time can move it. Own choice."""


class Span(NamedTuple):
    """Minutes since the last elimination, from start to stop, in which the hazard is so many times the curve's."""

    start_min: float
    stop_min: float
    times: float = 1.0


@dataclass(frozen=True)
class Curve:
    """The pooled curve at an age in weeks."""

    age_weeks: float

    def scale_min(self, need: Need, doing: Doing) -> float:
        """Return the minutes after which 63 % of pups have gone by themselves, nothing else having happened."""
        return self.ceiling_min * SCALE_OF_CEILING[need, doing]

    @cached_property
    def ceiling_min(self) -> float:
        """The confinement rule of thumb, in minutes."""
        return 60.0 * max_confinement_hours(self.age_weeks)

    def cell(self, need: Need, doing: Doing, since_min: float) -> int:
        """Return the cell of a minute since the last elimination."""
        return _FIRST[doing] + bisect_right(CUTS, since_min / self.scale_min(need, doing))

    def add_exposure(self, into: list[float], need: Need, doing: Doing, span: Span) -> None:
        """Add to each cell the eliminations that the curve expects of a span.

        Model: times · ((stop / scale)^3 − (start / scale)^3), split at the cuts.
        """
        scale = self.scale_min(need, doing)
        low, stop, first = span.start_min / scale, span.stop_min / scale, _FIRST[doing]
        for stretch, edge in enumerate(_EDGES):
            if low < edge:
                high = min(stop, edge)
                into[first + stretch] += span.times * (high**POWER - low**POWER)
                if stop <= edge:
                    return
                low = edge


def expected_hazards() -> Hazards:
    """Return what is known of any pup before anything is logged: the curve itself, once."""
    n_cells = len(CELLS)
    cells = Rates(np.full(n_cells, CELL_EVENTS), np.full(n_cells, CELL_EVENTS))
    return Hazards(OWN_EVENTS, OWN_EVENTS, 0.0, 0.0, cells)
