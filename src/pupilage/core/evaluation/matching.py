"""Which mark of one person is the same moment as which mark of the other."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.codings import Mark

MAX_TOLERANCE_S = 60.0
MAX_SHIFT_PAIRS = 1_000_000
LEAST_GAIN = 2
"""A shift is worth naming from two more pairs on, and a tenth of the marks."""

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Pair:
    """A moment. one, other: what each person marked there, None for a person who marked nothing near it."""

    one: Mark | None
    other: Mark | None

    @property
    def time_s(self) -> float:
        """The first person's time; the other's where the first marked nothing."""
        mark = self.one or self.other
        assert mark is not None  # noqa: S101  a pair has at least one mark
        return mark.time_s

    @property
    def is_same(self) -> bool:
        """Whether both marked it, with the same word."""
        return self.one is not None and self.other is not None and self.one.code == self.other.code


def match_marks(one: Sequence[Mark], other: Sequence[Mark], tolerance_s: float) -> tuple[Pair, ...]:
    """Return all the moments that at least one person marked, in time order.

    Model: of all ways to pair marks at most `tolerance_s` apart, the one with most pairs, and of these the one with the
    smallest sum of differences in time. The words play no part, so that nobody is made to agree by the pairing.
    Parameters: marks in time order; tolerance_s from 0 to 60.
    Raises: InvalidInput for another tolerance.
    Source: agreement within a time window: MacLean, Tapp & Johnson (1985), as told by Mudford, Taylor & Martin (2009),
    J. Appl. Behav. Anal. 42, 165-169, who found windows of 1 to 5 s in use; checked against SciPy's assignment in
    tests/external/test_agreement.py.
    """
    if not (math.isfinite(tolerance_s) and 0.0 <= tolerance_s <= MAX_TOLERANCE_S):
        raise InvalidInput.of(
            "tolerance_s",
            "{given} s is no tolerance; give seconds from 0 to {most:.0f}.",
            given=tolerance_s,
            most=MAX_TOLERANCE_S,
        )
    pairs: list[Pair] = []
    for own, others in _clusters(one, other, tolerance_s):
        pairs += _match_cluster(own, others, tolerance_s)
    return tuple(sorted(pairs, key=lambda pair: pair.time_s))


def likely_shift_s(one: Sequence[Mark], other: Sequence[Mark], tolerance_s: float) -> float | None:
    """Return the seconds to add to the other's times that bring clearly more marks together, or None.

    Model: the middle of the densest stretch of differences, one tolerance to each side. It is only ever a proposal: to
    choose it silently would make agreement look better than it is.
    """
    if not one or not other or len(one) * len(other) > MAX_SHIFT_PAIRS:
        return None
    differences = np.sort(np.subtract.outer(_times(one), _times(other)).ravel())
    until = np.searchsorted(differences, differences + 2.0 * tolerance_s, side="right")
    first = int(np.argmax(until - np.arange(len(differences))))
    shift_s = float(np.median(differences[first : until[first]]))
    moved = [Mark(mark.time_s + shift_s, mark.code) for mark in other]
    gain = _n_paired(match_marks(one, moved, tolerance_s)) - _n_paired(match_marks(one, other, tolerance_s))
    return round(shift_s, 1) if gain >= max(LEAST_GAIN, 0.1 * min(len(one), len(other))) else None


def _n_paired(pairs: Sequence[Pair]) -> int:
    return sum(pair.one is not None and pair.other is not None for pair in pairs)


def _times(marks: Sequence[Mark]) -> Floats:
    return np.array([mark.time_s for mark in marks])


def _clusters(
    one: Sequence[Mark], other: Sequence[Mark], tolerance_s: float
) -> Iterator[tuple[list[Mark], list[Mark]]]:
    """Return the marks parted where nothing lies within the tolerance: no pair can reach across."""
    in_order = sorted([(m.time_s, 0, m) for m in one] + [(m.time_s, 1, m) for m in other], key=lambda item: item[:2])
    cluster: tuple[list[Mark], list[Mark]] = ([], [])
    last_s = -math.inf
    for time_s, who, mark in in_order:
        if time_s - last_s > tolerance_s and (cluster[0] or cluster[1]):
            yield cluster
            cluster = ([], [])
        cluster[who].append(mark)
        last_s = time_s
    if cluster[0] or cluster[1]:
        yield cluster


def _match_cluster(one: list[Mark], other: list[Mark], tolerance_s: float) -> list[Pair]:
    """Pair two short lists by dynamic programming over their beginnings; pairs never cross."""
    apart = np.abs(np.subtract.outer(_times(one), _times(other)))
    worth = np.where(apart <= tolerance_s, 1.0 + tolerance_s * (1 + min(len(one), len(other))) - apart, -math.inf)
    best = np.zeros((len(one) + 1, len(other) + 1))
    for i in range(len(one)):
        best[i + 1, 1:] = np.maximum(best[i, 1:], best[i, :-1] + worth[i])
        np.maximum.accumulate(best[i + 1], out=best[i + 1])
    return list(_walk_back(one, other, worth, best))


def _walk_back(one: list[Mark], other: list[Mark], worth: Floats, best: Floats) -> Iterator[Pair]:
    i, j = len(one), len(other)
    while i or j:
        if i and j and best[i, j] == best[i - 1, j - 1] + worth[i - 1, j - 1]:
            i, j = i - 1, j - 1
            yield Pair(one[i], other[j])
        elif i and best[i, j] == best[i - 1, j]:
            i -= 1
            yield Pair(one[i], None)
        else:
            j -= 1
            yield Pair(None, other[j])
