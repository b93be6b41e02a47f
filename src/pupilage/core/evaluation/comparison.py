"""Two codings of the same thing side by side: every usual figure of agreement, and what there is to talk over."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput, NotEnoughYet, Problem
from pupilage.core.evaluation.agreement import (
    CountAgreement,
    IntervalAgreement,
    TrialAgreement,
    agree_on_counts,
    agree_on_intervals,
    agree_on_trials,
)
from pupilage.core.evaluation.codings import Coding, Mark
from pupilage.core.evaluation.matching import MAX_TOLERANCE_S, Pair, likely_shift_s, match_marks

INTERVAL_S = 10.0
"""Ten seconds is the usual length of an interval for such figures (from memory)."""

TOLERANCE_S = 2.0
"""Windows of 1 to 5 s are in use: Mudford, Taylor & Martin (2009), J. Appl. Behav. Anal. 42, 165-169."""

USUAL_MINIMUM = 0.8
"""Cooper, Heron & Heward, Applied Behavior Analysis (from memory): at least 80 %, better 90 %."""

MAX_INTERVALS = 100_000


@dataclass(frozen=True)
class Terms:
    """How two codings are compared: length of an interval, how far apart the same moment may be marked, and the
    seconds added to the other's times, all in seconds."""

    interval_s: float = INTERVAL_S
    tolerance_s: float = TOLERANCE_S
    shift_s: float = 0.0

    def __post_init__(self) -> None:
        problems = []
        if not (math.isfinite(self.interval_s) and 1.0 <= self.interval_s <= 3600.0):
            problems.append(
                Problem("interval_s", "{given:g} s is no interval; give 1 to 3600 s.", given=self.interval_s)
            )
        if not (math.isfinite(self.tolerance_s) and 0.0 <= self.tolerance_s <= MAX_TOLERANCE_S):
            problems.append(
                Problem(
                    "tolerance_s",
                    "{given:g} s is no tolerance; give 0 to {most:.0f} s.",
                    given=self.tolerance_s,
                    most=MAX_TOLERANCE_S,
                )
            )
        if not (math.isfinite(self.shift_s) and abs(self.shift_s) <= 3600.0):
            problems.append(
                Problem("shift_s", "{given:g} s is no shift of a clock; give -3600 to 3600 s.", given=self.shift_s)
            )
        if problems:
            raise InvalidInput(problems)


@dataclass(frozen=True)
class CodeAgreement:
    """Agreement on one word, or on all of them for an empty `code`: how often each used it, counts and intervals."""

    code: str
    n_one: int
    n_other: int
    counts: CountAgreement
    intervals: IntervalAgreement


@dataclass(frozen=True)
class Differing:
    """A moment to talk over. n: its number among all moments, from 1; None for a person who marked nothing there."""

    n: int
    time_s: float
    one: str | None
    other: str | None


@dataclass(frozen=True)
class Comparison:
    """What two codings of the same thing have in common.

    compared_s: the stretch that both watched; moments: all that at least one marked in it; matched: agreement on the
    words of the moments that both marked, None without one; overall: whatever the word; codes: one word each; outside:
    marks that lie where the other no longer watched, by person, which count for nothing and are not lost;
    likely_shift_s: seconds by which the other's clock seems to be behind, None where nothing points to that.
    """

    one: Coding
    other: Coding
    terms: Terms
    compared_s: float
    n_intervals: int
    moments: tuple[Pair, ...]
    matched: TrialAgreement | None
    overall: CodeAgreement
    codes: tuple[CodeAgreement, ...]
    outside: tuple[tuple[str, Mark], ...]
    likely_shift_s: float | None

    @property
    def n_same(self) -> int:
        """Moments to which both gave the same word."""
        return sum(pair.is_same for pair in self.moments)

    @property
    def share(self) -> float | None:
        """Agreement trial by trial: moments with the same word, of all; a moment that one did not mark differs."""
        return self.n_same / len(self.moments) if self.moments else None

    @property
    def differing(self) -> tuple[Differing, ...]:
        """The moments to talk over, in time order."""
        return tuple(
            Differing(n, p.time_s, p.one.code if p.one else None, p.other.code if p.other else None)
            for n, p in enumerate(self.moments, 1)
            if not p.is_same
        )


def compare_codings(one: Coding, other: Coding, terms: Terms | None = None) -> Comparison:
    """Return the agreement of two people who coded the same thing.

    Model: marks are paired in time (`matching.match_marks`); counts and intervals are those of `agreement`, the last
    interval being shorter where the stretch is no multiple. Compared is the stretch that both watched.
    Raises: NotEnoughYet where neither marked anything and no length is known.
    Source: as the functions it calls; Reed & Azulay's examples go through it in tests/external/test_agreement.py.
    """
    terms = terms or Terms()
    moved = other.moved(terms.shift_s)
    compared_s = _shared_length(one, moved)
    if compared_s <= 0.0:
        raise NotEnoughYet("agreement, in moments marked", 0, 1)
    n_intervals = max(1, math.ceil(compared_s / terms.interval_s - 1e-9))
    if n_intervals > MAX_INTERVALS:
        raise InvalidInput.of("interval_s", "{n} intervals are too many; give a longer one.", n=n_intervals)
    moments, outside = _within(one, moved, compared_s, terms.tolerance_s)
    both = [(p.one.code, p.other.code) for p in moments if p.one is not None and p.other is not None]
    grid = _Grid(moments, n_intervals, terms.interval_s)
    return Comparison(
        one=one,
        other=moved,
        terms=terms,
        compared_s=compared_s,
        n_intervals=n_intervals,
        moments=moments,
        matched=agree_on_trials([a for a, _ in both], [b for _, b in both]) if both else None,
        overall=grid.agreement(""),
        codes=tuple(grid.agreement(code) for code in grid.codes()),
        outside=outside,
        likely_shift_s=likely_shift_s(one.marks, moved.marks, terms.tolerance_s),
    )


def _shared_length(one: Coding, other: Coding) -> float:
    lengths = [coding.length_s for coding in (one, other) if coding.length_s is not None]
    if lengths:
        return min(lengths)
    return max((mark.time_s for coding in (one, other) for mark in coding.marks), default=0.0)


def _within(
    one: Coding, other: Coding, compared_s: float, tolerance_s: float
) -> tuple[tuple[Pair, ...], tuple[tuple[str, Mark], ...]]:
    """Part the moments into those of the shared stretch and marks outside it; a pair across its edge is inside."""
    inside: list[Pair] = []
    outside: list[tuple[str, Mark]] = []
    for pair in match_marks(one.marks, other.marks, tolerance_s):
        marks = [mark for mark in (pair.one, pair.other) if mark is not None]
        if any(0.0 <= mark.time_s <= compared_s for mark in marks):
            inside.append(pair)
        else:
            outside += [
                (coding.observer, mark) for coding, mark in ((one, pair.one), (other, pair.other)) if mark is not None
            ]
    return tuple(inside), tuple(outside)


class _Grid:
    """The marks of both people, counted interval by interval."""

    def __init__(self, moments: Sequence[Pair], n_intervals: int, interval_s: float) -> None:
        self.n_intervals = n_intervals
        self.interval_s = interval_s
        self.one = [pair.one for pair in moments if pair.one is not None]
        self.other = [pair.other for pair in moments if pair.other is not None]

    def codes(self) -> list[str]:
        """Return the words, the commonest first."""
        return [code for code, _ in Counter(mark.code for mark in [*self.one, *self.other]).most_common()]

    def agreement(self, code: str) -> CodeAgreement:
        counts = [self._counts(marks, code) for marks in (self.one, self.other)]
        seen = [[count > 0 for count in own] for own in counts]
        return CodeAgreement(code, sum(counts[0]), sum(counts[1]), agree_on_counts(*counts), agree_on_intervals(*seen))

    def _counts(self, marks: Sequence[Mark], code: str) -> list[int]:
        counts = [0] * self.n_intervals
        for mark in marks:
            if not code or mark.code == code:
                counts[min(self.n_intervals - 1, max(0, math.floor(mark.time_s / self.interval_s)))] += 1
        return counts
