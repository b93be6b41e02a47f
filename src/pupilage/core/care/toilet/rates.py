"""Hazards that are constant in each cell and known as Gamma distributions: what they foretell and how they learn."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pupilage.core.care.toilet.figures import Figure, log1p
from pupilage.core.errors import InvalidInput

Floats = NDArray[np.float64]

HALVINGS = 60
"""Bisection halves the stretch this often: far below a second, whatever the stretch."""


@dataclass(frozen=True)
class Rates:
    """A hazard in each cell, Gamma(shape, worth): mean shape / worth.

    worth: the exposure that is known, in the unit of the exposures (minutes, or eliminations expected). Both are above
    0 and have the cells along the last axis.
    """

    shape: Floats
    worth: Floats

    @cached_property
    def mean(self) -> Floats:
        """The expected hazard in each cell."""
        return self.shape / self.worth

    def after(self, events: Floats | float, exposure: Floats) -> "Rates":
        """Return the hazards after so many events in so much exposure: Gamma(shape + events, worth + exposure)."""
        return Rates(self.shape + events, self.worth + exposure)

    def log_survival(self, exposure: Floats) -> Floats:
        """Return the log of the chance of no event in an exposure, the hazards' own uncertainty included.

        Model: log of the product over cells of (worth / (worth + exposure))^shape.
        Parameters: exposure, 0 or more, cells along the last axis.
        Source: Gamma mixture of exponentials (Lomax 1954); Monte Carlo and R42 in tests/external/test_outings.py.
        """
        return np.asarray(log_survival(self.shape, self.worth, exposure).sum(axis=-1))


def log_survival(shape: Figure, worth: Figure, exposure: Figure) -> Figure:
    """Return −shape · log(1 + exposure / worth): the log of the chance of no event, the hazard being Gamma."""
    return -shape * log1p(exposure / worth)


def time_at_risk(p_event: Callable[[float], float], risk: float, *, longest_min: float) -> float:
    """Return the first minute at which the chance of an event reaches a risk; `longest_min` if it never does.

    Model: bisection; p_event must not fall.
    Parameters: p_event, the chance by so many minutes from now; risk between 0 and 1.
    Raises: InvalidInput for a risk that is none.
    """
    require_risk(risk)
    if p_event(longest_min) <= risk:
        return longest_min
    low, high = 0.0, longest_min
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if p_event(middle) < risk:
            low = middle
        else:
            high = middle
        if high - low < 1e-6:
            break
    return high


def require_risk(risk: float) -> None:
    """Raise InvalidInput unless the risk lies between 0 and 1."""
    if not (math.isfinite(risk) and 0.0 < risk < 1.0):
        raise InvalidInput.of("risk", "{given} is no risk; give one between 0 and 1, such as 0.05.", given=risk)
