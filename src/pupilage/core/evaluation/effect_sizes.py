"""Whether a change helped, from one dog's two phases: how many pairs of days are better after it than before.

A pup also grows older, and days are not independent: the figures describe, they prove nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput, Problem

FEWEST = 3
"""Days in a phase below which no effect is stated."""


@dataclass(frozen=True)
class Effect:
    """The second phase beside the first. n_before, n_after: days.

    nap: share of pairs that are better, ties counting half, 0 to 1; tau: 2·nap − 1; tau_u: tau less the trend within
    the first phase (may leave −1 to 1: it depends on the lengths of the phases); pnd: share of the second phase beyond
    the best of the first; p: exact chance of a nap at least so large if days had been dealt to phases at random.
    """

    n_before: int
    n_after: int
    nap: float
    tau: float
    tau_u: float
    pnd: float
    p: float


def effect_of(before: Sequence[float], after: Sequence[float], *, more_is_better: bool) -> Effect:
    """Return the effect sizes of two phases of the same measure.

    Model: with S the better pairs less the worse ones, tau = S ÷ mn, nap = (tau + 1) ÷ 2 (Mann and Whitney's U ÷ mn),
    tau_u = (S − S within the first phase) ÷ mn.
    Parameters: before, after: one finite figure a day, in time order, 3 or more each.
    Raises: InvalidInput for fewer or for figures that are none.
    Source: Parker & Vannest (2009), Behavior Therapy 40, 357-367 (NAP); Parker, Vannest, Davis & Sauber (2011),
    Behavior Therapy 42, 284-299 (Tau-U); Scruggs, Mastropieri & Casto (1987), Remedial and Special Education 8, 24-33
    (PND). Values in tests/external/test_effect_sizes.py.
    """
    _require(before, after)
    sign = 1.0 if more_is_better else -1.0
    a, b = sign * np.asarray(before, dtype=float), sign * np.asarray(after, dtype=float)
    pairs = a.size * b.size
    s_between = float(np.sign(b[None, :] - a[:, None]).sum())
    s_within = float(np.triu(np.sign(a[None, :] - a[:, None])).sum())
    return Effect(
        n_before=a.size,
        n_after=b.size,
        nap=(s_between / pairs + 1.0) / 2.0,
        tau=s_between / pairs,
        tau_u=(s_between - s_within) / pairs,
        pnd=float(np.mean(b > a.max())),
        p=_p_of_ranks(a, b),
    )


def _p_of_ranks(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    """Return the share of all deals of the days to the phases whose rank sum is at least that of b.

    Every deal is counted, by a table of how many sets of days of each size have each sum of doubled middle ranks.
    """
    ranks = _doubled_ranks(np.concatenate([a, b]))
    ways = np.zeros((b.size + 1, int(ranks.sum()) + 1))
    ways[0, 0] = 1.0
    for rank in ranks:
        for size in range(b.size, 0, -1):
            ways[size, rank:] += ways[size - 1, : ways.shape[1] - rank]
    sums = ways[b.size]
    return float(sums[int(ranks[a.size :].sum()) :].sum() / sums.sum())


def _doubled_ranks(values: NDArray[np.float64]) -> NDArray[np.intp]:
    below = (values[None, :] < values[:, None]).sum(axis=1)
    equal = (values[None, :] == values[:, None]).sum(axis=1)
    return np.asarray(2 * below + equal + 1, dtype=np.intp)


def _require(before: Sequence[float], after: Sequence[float]) -> None:
    problems = []
    for name, phase in (("before", before), ("after", after)):
        if len(phase) < FEWEST:
            problems.append(Problem(name, "Not enough yet: have {n} days, need {least}.", n=len(phase), least=FEWEST))
        elif not np.isfinite(np.asarray(phase, dtype=float)).all():
            problems.append(Problem(name, "A day has no figure; leave such days out."))
    if problems:
        raise InvalidInput(problems)
