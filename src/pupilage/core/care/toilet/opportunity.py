"""What an outing tells: it is a chance for the pup to go, not the moment at which it would have gone by itself.

The urge of a pup grows until it reaches a limit, and then the pup goes wherever it is. Outdoors it goes earlier: once
the limit is no more than PULL times the urge, unless it is distracted. So a success says that the limit was near, an
empty trip that it was far or that the pup was distracted, and only an accident says when the pup goes by itself.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pupilage.core.care.toilet.hazards import Hazards
from pupilage.core.care.toilet.rates import Figure, Floats

PULL = 40.0
"""Own choice: outdoors a pup goes once its urge is a fortieth of the limit. The urge grows with the cube of time, so
that is at 29 % of the minutes after which it would have gone indoors. Sensitivity: docs/science/outings.md."""

P_DISTRACTED = 0.15
"""Own choice: one outing in seven comes to nothing though the pup was full (rain, a noise, play)."""

MAX_EMPTY = 3
"""The latest empty trips since the last elimination that are kept in mind."""

MOST_UNKNOWN = 0.999
"""A success counts as a thousandth of an event at least, so that shapes stay above 0."""


@dataclass(frozen=True)
class Wait:
    """The time since an elimination.

    exposure (…, cells); p_untold: the weight of all empty trips having been distraction; empty: for each trip kept in
    mind, the oldest first, `Hazards.expected` at it and the weight of its being the last that was none.
    """

    exposure: Floats
    p_untold: Figure = 1.0
    empty: tuple[tuple[Figure, Figure], ...] = ()


TINY = 1e-300
Cases = list[tuple[Figure, Figure]]
"""Weights and starts: numbers for one pup, arrays for many."""

Learn = Callable[[Hazards, Wait], Hazards]
"""How an end of a wait changes what is known."""


def log_waiting(hazards: Hazards, wait: Wait, expected: Figure) -> Figure:
    """Return the log of the chance that the pup has not gone by itself, up to a constant of the wait.

    Model: the limit is exponential in the accumulated hazard. An empty trip at x weighs limits below PULL · x by
    P_DISTRACTED; the chance that a limit lies beyond the later of the exposure and PULL · x is the Gamma mixture's.
    Parameters: expected, `Hazards.expected` of an exposure no less than the wait's own.
    """
    beyond = sum(weight * np.exp(hazards.log_survival(start)) for weight, start in _cases(wait, expected))
    return np.log(np.maximum(beyond, TINY))


def with_empty_trip(hazards: Hazards, wait: Wait) -> Wait:
    """Return the wait after an outing with nothing done."""
    older = [(here, weight * P_DISTRACTED) for here, weight in wait.empty]
    untold = wait.p_untold * P_DISTRACTED
    if len(older) == MAX_EMPTY:
        untold = untold + older.pop(0)[1]
    new = (hazards.expected(wait.exposure), 1.0 - P_DISTRACTED + 0.0 * untold)
    return Wait(wait.exposure, untold, (*older, new))


def after_accident(hazards: Hazards, wait: Wait, shares: Floats) -> Hazards:
    """Return the hazards after an accident. shares: in which cell it came, summing to 1 (several if seen later)."""
    own = Hazards(hazards.shape + 1.0, hazards.worth + hazards.expected(wait.exposure), hazards.cells)
    return _with_cells(own, hazards, wait, shares)


def after_success(hazards: Hazards, wait: Wait) -> Hazards:
    """Return the hazards after an outing with a success: the limit lay between the urge and PULL times the urge.

    Model: one event, whose exposure is the expected limit. What an interval leaves unknown is taken off the weight of
    the observation (Orchard and Woodbury 1972; Louis 1982), so that a success that was sure in any case moves nothing.
    The cells take it as a wait without an accident: how ready a pup is outdoors is no matter of theirs.
    """
    here = hazards.expected(wait.exposure)
    cases = [(weight, hazards.own * start) for weight, start in _cases(wait, here)]
    limit, spread = _moments(cases, PULL * hazards.own * here)
    unknown = np.minimum(np.minimum(spread, limit), MOST_UNKNOWN)
    return _moved(hazards, wait, events=1.0 - unknown, known=limit - unknown)


def after_nothing(hazards: Hazards, wait: Wait) -> Hazards:
    """Return the hazards after a wait whose end nobody saw: by then the pup had not gone, that is all."""
    cases = [(weight, hazards.own * start) for weight, start in _cases(wait, hazards.expected(wait.exposure))]
    chances = [weight * np.exp(-near) for weight, near in cases]
    total = sum(chances)
    limit = sum(chance * near for chance, (_, near) in zip(chances, cases, strict=True)) / total
    square = sum(chance * near**2 for chance, (_, near) in zip(chances, cases, strict=True)) / total
    unknown = np.clip(square - limit**2, 0.0, limit)
    return _moved(hazards, wait, events=-unknown, known=limit - unknown)


def _moments(cases: Cases, far: Figure) -> tuple[Figure, Figure]:
    """Return mean and variance of a limit, exponential with mean 1, from `near` on (cases with weights) to `far`."""
    at_far = np.exp(-far)
    mass, first, second = TINY, 0.0, 0.0
    for weight, near in cases:
        at_near = np.exp(-near)
        mass = mass + weight * (at_near - at_far)
        first = first + weight * ((near + 1.0) * at_near - (far + 1.0) * at_far)
        second = second + weight * ((near * (near + 2.0) + 2.0) * at_near - (far * (far + 2.0) + 2.0) * at_far)
    mean = first / mass
    return mean, np.maximum(second / mass - mean**2, 0.0)


def _moved(hazards: Hazards, wait: Wait, *, events: Figure, known: Figure) -> Hazards:
    """Return the hazards after so many events in so much known urge; the cells see a wait without an accident."""
    shape = np.maximum(hazards.shape + events, 0.05 * hazards.shape)
    own = Hazards(shape, hazards.worth + known / hazards.own, hazards.cells)
    return _with_cells(own, hazards, wait, 0.0)


def _with_cells(own: Hazards, before: Hazards, wait: Wait, shares: Floats | float) -> Hazards:
    own_factor = np.asarray(before.own)[..., None]
    cells = before.cells.after(shares, own_factor * wait.exposure)
    return Hazards(own.shape, own.worth, cells)


def _cases(wait: Wait, expected: Figure) -> Cases:
    """Return from where on the limit can lie, given which empty trips were distraction, and the weight of each case."""
    told = [(weight, np.maximum(PULL * here, expected)) for here, weight in wait.empty]
    return [(wait.p_untold, expected), *told]
