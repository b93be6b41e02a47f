"""Lists of which correct responses are paid: variable ratio for tries, variable interval for holds.

A list is a fixed function of its name (the session) and of the ratio: it is the same after a reload, on another
device and after an undo, and nobody, dog or trainer, can foresee the next pay.
"""

import hashlib
import math
from collections.abc import Iterator
from itertools import count

from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.holds import fleshler_hoffman

TERMS = 6
"""Terms of a list; after these it is shuffled anew. The longest run to a pay is about 2.8 times the mean."""


def ratio_terms(ratio: float) -> tuple[int, ...]:
    """Return how many correct responses each pay takes, from few to many; their mean is `ratio` exactly.

    Model: the constant-probability progression of `holds.fleshler_hoffman` in whole responses, at least one each;
    what rounding adds or takes away goes to the longest.
    Parameters: ratio, correct responses a pay, 1 or more, a multiple of 1/6.
    Raises: InvalidInput for another ratio.
    Source: Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530, who give it for intervals; in whole responses
    it is common practice, no source. Variable-ratio schedules: Ferster and Skinner, Schedules of Reinforcement, 1957
    (from memory). Checked in tests/external/test_schedules.py.
    """
    total = TERMS * ratio
    if not (math.isfinite(ratio) and ratio >= 1.0 and math.isclose(total, round(total), abs_tol=1e-9)):
        raise InvalidInput.of(
            "ratio", "{given} correct responses a pay make no list; give 1 or more, in sixths.", given=ratio
        )
    terms = [max(1, round(term)) for term in fleshler_hoffman(TERMS, ratio)]
    terms[-1] += round(total) - sum(terms)
    return tuple(terms)


def interval_mean_s(duration_s: float, ratio: float) -> float:
    """Return the mean interval at which one in `ratio` holds of this duration is paid.

    Model: with an interval of constant probability and mean V, a hold of D seconds is paid with 1 - exp(-D / V),
    which is 1 / ratio for V = D / ln(ratio / (ratio - 1)); 0 for a ratio of 1.
    Parameters: duration_s above 0, ratio 1 or more. Raises: InvalidInput for others.
    """
    if not (0.0 < duration_s < math.inf and 1.0 <= ratio < math.inf):
        raise InvalidInput.of(
            "duration_s",
            "No list for holds of {duration} s of which one in {ratio} is paid; give more than 0 s, and 1 or more.",
            duration=duration_s,
            ratio=ratio,
        )
    return 0.0 if ratio == 1.0 else duration_s / math.log(ratio / (ratio - 1.0))


def ratio_gaps(ratio: float, name: str) -> Iterator[int]:
    """Return, without end, how many correct responses each pay takes; the first takes no more than `ratio`."""
    yield from (int(gap) for gap in _without_end(tuple(map(float, ratio_terms(ratio))), f"{name}/vr/{ratio}"))


def interval_gaps_s(duration_s: float, ratio: float, name: str) -> Iterator[float]:
    """Return, without end, the seconds held that each pay takes; the first takes no more than the mean."""
    mean_s = interval_mean_s(duration_s, ratio)
    yield from _without_end(fleshler_hoffman(TERMS, mean_s), f"{name}/vi/{ratio}")


def paid_responses(ratio: float, name: str, n: int) -> tuple[bool, ...]:
    """Return which of the first n correct responses of a session are paid (variable ratio)."""
    paid = [False] * n
    at = -1
    for gap in ratio_gaps(ratio, name):
        at += gap
        if at >= n:
            return tuple(paid)
        paid[at] = True
    raise AssertionError("a list has no end")


def _without_end(terms: tuple[float, ...], name: str) -> Iterator[float]:
    """Return the terms shuffled, again and again; the first list is turned until it begins with a short one."""
    mean = math.fsum(terms) / len(terms)
    for block in count():
        order = shuffled(len(terms), f"{name}/{block}")
        if block == 0:
            first = next(i for i, place in enumerate(order) if terms[place] <= mean + 1e-9)
            order = order[first:] + order[:first]
        for place in order:
            yield terms[place]


def shuffled(n: int, name: str) -> list[int]:
    """Return the places 0 to n - 1 in an order that follows from the name: by their digests.

    No random generator, whose stream might change between releases: a running session would change its list.
    """
    return sorted(range(n), key=lambda place: hashlib.sha256(f"{name}/{place}".encode()).digest())
