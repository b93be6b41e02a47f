"""What an outing tells: it is a chance for the pup to go, not the moment at which it would have gone by itself.

The urge of a pup grows until it reaches a limit, and then the pup goes wherever it is. Outdoors it goes earlier: once
the limit is no more than its pull times the urge, unless it is distracted. So a success says that the limit was near,
an empty trip that it was far or that the pup was distracted, and only an accident says when the pup goes by itself.
As nobody knows a pup's pull, there are two witnesses: what outings tell is worth a few accidents at the most, and the
accidents and the dry time have the last word.
"""

from collections.abc import Callable
from dataclasses import dataclass

from pupilage.core.care.toilet.figures import Figure, beside_cells, exp, larger, log, smaller
from pupilage.core.care.toilet.hazards import PULL, Hazards
from pupilage.core.care.toilet.rates import Floats

P_DISTRACTED = 0.15
"""Own choice: one outing in seven comes to nothing though the pup was full (rain, a noise, play)."""

MAX_EMPTY = 3
"""The latest empty trips since the last elimination that are kept in mind."""

LEAST_REACH = 1e-9
MOST_UNKNOWN = 0.999
"""A success counts as a thousandth of an event at least, so that shapes stay above 0."""


@dataclass(frozen=True)
class Wait:
    """The time since an elimination.

    exposure (…, cells); p_untold: the weight of all empty trips having been distraction; empty: for each trip kept in
    mind, the oldest first, `Hazards.expected` at it and the weight of its being the last that was none; at_risk: the
    part of what was expected, until the last of them, in which an accident could come.
    """

    exposure: Floats
    p_untold: Figure = 1.0
    empty: tuple[tuple[Figure, Figure], ...] = ()
    at_risk: Figure = 0.0


TINY = 1e-300
Cases = list[tuple[Figure, Figure]]
"""Weights and starts: numbers for one pup, arrays for many."""

Learn = Callable[[Hazards, Wait], Hazards]
"""How an end of a wait changes what is known."""


def log_waiting(hazards: Hazards, wait: Wait, expected: Figure) -> Figure:
    """Return the log of the chance that the pup has not gone by itself, up to a constant of the wait.

    Model: the limit is exponential in the accumulated hazard. An empty trip at x weighs limits below pull · x by
    P_DISTRACTED; the chance that a limit lies beyond the later of the exposure and pull · x is the Gamma mixture's.
    Parameters: expected, `Hazards.expected` of an exposure no less than the wait's own.
    """
    beyond = wait.p_untold * exp(hazards.log_survival(expected))
    for here, weight in wait.empty:
        beyond = beyond + weight * exp(hazards.log_survival(larger(hazards.pull * here, expected)))
    return log(larger(beyond, TINY))


def with_empty_trip(hazards: Hazards, wait: Wait) -> Wait:
    """Return the wait after an outing with nothing done."""
    older = [(here, weight * P_DISTRACTED) for here, weight in wait.empty]
    untold = wait.p_untold * P_DISTRACTED
    if len(older) == MAX_EMPTY:
        untold = untold + older.pop(0)[1]
    new = (hazards.expected(wait.exposure), 1.0 - P_DISTRACTED)
    return Wait(wait.exposure, untold, (*older, new), at_risk_until(hazards, wait))


def at_risk_until(hazards: Hazards, wait: Wait) -> Figure:
    """Return the part of what a wait expected in which an accident could come, in the unit of `Hazards.expected`.

    Model: the compensator of the accidents, over the own factor. After an empty trip that was no distraction the limit
    is known to be far, and time that passes dry until then proves nothing.
    """
    own, pull = hazards.own, hazards.pull
    here, since = hazards.expected(wait.exposure), wait.empty[-1][0] if wait.empty else 0.0
    return wait.at_risk + (_log_beyond(wait, own, pull, since) - _log_beyond(wait, own, pull, here)) / own


def _log_beyond(wait: Wait, own: Figure, pull: Figure, expected: Figure) -> Figure:
    beyond = wait.p_untold * exp(-own * expected)
    for here, weight in wait.empty:
        beyond = beyond + weight * exp(-own * larger(pull * here, expected))
    return log(larger(beyond, TINY))


def after_accident(hazards: Hazards, wait: Wait, shares: Floats) -> Hazards:
    """Return the hazards after an accident. shares: in which cell it came, summing to 1 (several if seen later).

    Model: Gamma(shape + 1, worth + exposure), for the own factor and in each cell.
    """
    return _seen(hazards, wait, n=1.0, shares=shares)


def after_success(hazards: Hazards, wait: Wait) -> Hazards:
    """Return the hazards after an outing with a success: the limit lay between the urge and the pull times the urge.

    Model: for the first witness one event, whose exposure is the expected limit beyond the urge; what an interval
    leaves unknown is taken off the weight of the observation (Orchard and Woodbury 1972; Louis 1982), so that a success
    that was sure in any case moves nothing. For the second a time that passed without an accident.
    """
    cases, far = _beyond_urge(hazards, wait)
    limit, spread = _moments(cases, far)
    unknown = smaller(smaller(spread, limit), MOST_UNKNOWN)
    return _told(_seen(hazards, wait), hazards, events=1.0 - unknown, known=limit - unknown)


def after_nothing(hazards: Hazards, wait: Wait) -> Hazards:
    """Return the hazards after a wait whose end nobody saw: by then the pup had not gone, that is all."""
    cases, _ = _beyond_urge(hazards, wait)
    chances = [weight * exp(-near) for weight, near in cases]
    total = sum(chances)
    limit = sum(chance * near for chance, (_, near) in zip(chances, cases, strict=True)) / total
    square = sum(chance * near**2 for chance, (_, near) in zip(chances, cases, strict=True)) / total
    unknown = smaller(larger(square - limit**2, 0.0), limit)
    return _told(_seen(hazards, wait), hazards, events=-unknown, known=limit - unknown)


def _beyond_urge(hazards: Hazards, wait: Wait) -> tuple[Cases, Figure]:
    """Return from where on the limit can lie beyond the urge, in each case of distraction, and how far outdoors."""
    here = hazards.expected(wait.exposure)
    urge, reach = hazards.own * here, PULL * hazards.told
    told = [(weight, larger(reach * at - urge, 0.0)) for at, weight in wait.empty]
    return [(wait.p_untold, 0.0), *told], larger(reach * here - urge, LEAST_REACH)


def _moments(cases: Cases, far: Figure) -> tuple[Figure, Figure]:
    """Return mean and variance of a limit, exponential with mean 1, from `near` on (cases with weights) to `far`."""
    at_far = exp(-far)
    mass, first, second = TINY, 0.0, 0.0
    for weight, near in cases:
        at_near = exp(-near)
        mass = mass + weight * (at_near - at_far)
        first = first + weight * ((near + 1.0) * at_near - (far + 1.0) * at_far)
        second = second + weight * ((near * (near + 2.0) + 2.0) * at_near - (far * (far + 2.0) + 2.0) * at_far)
    mean = first / mass
    return mean, larger(second / mass - mean**2, 0.0)


def _told(seen: Hazards, before: Hazards, *, events: Figure, known: Figure) -> Hazards:
    """Return the hazards after the first witness saw so many events in so much known urge."""
    shape = larger(before.told_shape + events, 0.05 * before.told_shape)
    return Hazards(shape, before.told_worth + known / before.told, seen.n_seen, seen.seen, seen.cells)


def _seen(hazards: Hazards, wait: Wait, *, n: float = 0.0, shares: Floats | float = 0.0) -> Hazards:
    """Return the hazards after the second witness saw a wait with or without an accident at its end."""
    at_risk = at_risk_until(hazards, wait)
    part = at_risk / larger(hazards.expected(wait.exposure), TINY)
    cells = hazards.cells.after(shares, beside_cells(hazards.own * part) * wait.exposure)
    return Hazards(hazards.told_shape, hazards.told_worth, hazards.n_seen + n, hazards.seen + at_risk, cells)
