"""Whether incidents come in bursts: more of them soon after another than chance gives."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from itertools import pairwise
from math import comb

from pupilage.core.incidents.stretches import Stretch, union
from pupilage.core.words import Sentence, sentence

SOON_H = 1.0
"""Free hours within which an incident comes soon after another. Fixed beforehand: it is not searched for."""

FEWEST = 8
"""Incidents below which nothing is said of bursts (own choice)."""

SURE = 0.05


@dataclass(frozen=True)
class Bursts:
    """How many of n incidents came soon after the one before. expected: by chance; p: of so many or more by chance."""

    n: int
    n_soon: int
    expected: float
    p: float

    @property
    def is_called(self) -> bool:
        return self.p <= SURE

    @property
    def says(self) -> Sentence:
        figures = {"k": self.n_soon, "n": self.n, "expected": self.expected, "p": self.p}
        if self.is_called:
            return sentence(
                "They come in bursts: {k} of {n} within a free hour of the one before, where chance gives "
                "{expected:.1f}; so many come by chance in {p:.0%} of such records.",
                **figures,
            )
        return sentence(
            "No bursts show: {k} of {n} came within a free hour of the one before, and chance gives {expected:.1f}.",
            **figures,
        )


def weigh_bursts(ats: Sequence[datetime], *, free: Sequence[Stretch]) -> Bursts | None:
    """Return how many incidents came within a free hour of the one before, beside chance; None with under eight.

    Model: the time is free time alone, naps and nights cut out. With a constant rate, n incidents in T hours are n
    uniform points, and the count of gaps of at most d between neighbours has the law of `p_short_gaps`. A rate that
    changes makes bursts of its own, so that a record with a change is given from the change on.
    Parameters: ats, of incidents within `free`.
    """
    stretches = union(free)
    total_h = sum((s.length for s in stretches), timedelta()) / timedelta(hours=1)
    at_h = sorted(hour for hour in (_free_hour(stretches, at) for at in ats) if hour is not None)
    if len(at_h) < FEWEST or total_h <= SOON_H:
        return None
    n = len(at_h)
    n_soon = sum(later - earlier <= SOON_H for earlier, later in pairwise(at_h))
    expected = (n - 1) * (1.0 - (1.0 - SOON_H / total_h) ** n)
    return Bursts(n, n_soon, expected, p_short_gaps(n_soon, n_gaps=n - 1, n_points=n, share=SOON_H / total_h))


def p_short_gaps(k: int, *, n_gaps: int, n_points: int, share: float) -> float:
    """Return the chance that k or more of the gaps between uniform points are at most a share of the whole.

    Model: n points cut the whole into n + 1 gaps; j given ones all exceed δ with chance (1 − jδ)ⁿ, where that is
    above 0; with m gaps looked at, Sⱼ = C(m, j)(1 − jδ)ⁿ and P(exactly i exceed) = Σ (−1)^(j−i) C(j, i) Sⱼ, j ≥ i.
    Worked in fractions: the terms cancel, and no digit is lost. Exact.
    Parameters: n_gaps, m, 0 to n_points + 1; share, δ, in [0, 1].
    Source: Fisher (1929), Proc. Roy. Soc. A 125, 54-59 (the largest gap); Feller, An Introduction to Probability Theory
    II, I.9 (spacings); values in tests/external/test_bursts.py.
    """
    delta = Fraction(share).limit_denominator(10**9)
    sums = [comb(n_gaps, j) * max(Fraction(0), 1 - j * delta) ** n_points for j in range(n_gaps + 1)]
    most_long = n_gaps - k
    p = Fraction(0)
    for i in range(max(0, most_long + 1)):
        p += sum(((-1) ** (j - i) * comb(j, i) * sums[j] for j in range(i, n_gaps + 1)), Fraction(0))
    return float(p)


def _free_hour(stretches: Sequence[Stretch], at: datetime) -> float | None:
    """Return the free hours up to an instant, None where it lies in none."""
    before = timedelta()
    for stretch in stretches:
        if at in stretch:
            return (before + (at - stretch.start)) / timedelta(hours=1)
        before += stretch.length
    return None
