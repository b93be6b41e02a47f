"""How far two people who watched the same thing wrote down the same."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import sqrt

from pupilage.core.errors import InvalidInput

Z_95 = 1.959963984540054


@dataclass(frozen=True)
class CountAgreement:
    """Agreement on counts, each 0 to 1. total: of the sums, which hides where they differ; mean: of the intervals'
    ratios; exact: intervals with the same count."""

    total: float
    mean: float
    exact: float


@dataclass(frozen=True)
class IntervalAgreement:
    """Agreement on whether something happened in each interval, 0 to 1.

    scored: of intervals where at least one saw it; unscored: where at least one did not; None where there is none.
    """

    all: float
    scored: float | None
    unscored: float | None


@dataclass(frozen=True)
class DurationAgreement:
    """Agreement on seconds, 0 to 1. total: shorter sum ÷ longer sum; mean: of each occurrence's ratio."""

    total: float
    mean: float


@dataclass(frozen=True)
class TrialAgreement:
    """Agreement trial by trial. share: 0 to 1; kappa: beyond chance, None where both used one and the same word.

    low, high: 95 % limits of kappa; differing: the places (0-based) to talk over.
    """

    share: float
    kappa: float | None
    low: float | None
    high: float | None
    differing: tuple[int, ...]


def agree_on_counts(one: Sequence[int], other: Sequence[int]) -> CountAgreement:
    """Return the agreement on counts in the same intervals.

    Model: smaller ÷ larger, 1 where both are 0.
    Raises: InvalidInput for different lengths, none, or a count below 0.
    Source: Reed & Azulay (2011), Behavior Analysis in Practice 4(2), 45-52; its worked example in
    tests/external/test_agreement.py.
    """
    _require(one, other)
    _require_not_negative(one, other)
    ratios = [_ratio(a, b) for a, b in zip(one, other, strict=True)]
    same = sum(a == b for a, b in zip(one, other, strict=True))
    return CountAgreement(_ratio(sum(one), sum(other)), sum(ratios) / len(ratios), same / len(ratios))


def agree_on_intervals(one: Sequence[bool], other: Sequence[bool]) -> IntervalAgreement:
    """Return the agreement on whether something happened in each interval. Source: as `agree_on_counts`."""
    _require(one, other)
    pairs = list(zip(one, other, strict=True))
    return IntervalAgreement(
        sum(a == b for a, b in pairs) / len(pairs),
        _share_of([a and b for a, b in pairs if a or b]),
        _share_of([not a and not b for a, b in pairs if not (a and b)]),
    )


def agree_on_durations(one: Sequence[float], other: Sequence[float]) -> DurationAgreement:
    """Return the agreement on the seconds of the same occurrences. Source: as `agree_on_counts`."""
    _require(one, other)
    _require_not_negative(one, other)
    ratios = [_ratio(a, b) for a, b in zip(one, other, strict=True)]
    return DurationAgreement(_ratio(sum(one), sum(other)), sum(ratios) / len(ratios))


def agree_on_trials(one: Sequence[Hashable], other: Sequence[Hashable]) -> TrialAgreement:
    """Return the agreement on the word given to each trial, and Cohen's kappa with its large-sample limits.

    Model: κ = (p_o − p_e) ÷ (1 − p_e), p_e from each person's own shares; variance of Fleiss, Cohen & Everitt.
    Source: Cohen (1960), Educ. Psychol. Meas. 20, 37-46; Fleiss, Cohen & Everitt (1969), Psychol. Bull. 72, 323-327;
    values in tests/external/test_agreement.py.
    """
    _require(one, other)
    n = len(one)
    differing = tuple(i for i in range(n) if one[i] != other[i])
    agreed = 1.0 - len(differing) / n
    words = list(dict.fromkeys([*one, *other]))
    rows = {word: sum(a == word for a in one) / n for word in words}
    columns = {word: sum(b == word for b in other) / n for word in words}
    by_chance = sum(rows[word] * columns[word] for word in words)
    if by_chance >= 1.0 - 1e-12:
        return TrialAgreement(agreed, None, None, None, differing)
    kappa = (agreed - by_chance) / (1.0 - by_chance)
    cells = [(a, b) for a, b in zip(one, other, strict=True)]
    within = sum(((1.0 - by_chance) - (columns[a] + rows[b]) * (1.0 - agreed)) ** 2 for a, b in cells if a == b) / n
    across = (1.0 - agreed) ** 2 * sum((columns[a] + rows[b]) ** 2 for a, b in cells if a != b) / n
    rest = (agreed * by_chance - 2.0 * by_chance + agreed) ** 2
    error = sqrt(max(0.0, within + across - rest) / n) / (1.0 - by_chance) ** 2
    return TrialAgreement(agreed, kappa, kappa - Z_95 * error, kappa + Z_95 * error, differing)


def _ratio(a: float, b: float) -> float:
    return 1.0 if a == b else min(a, b) / max(a, b)


def _share_of(agreed: Sequence[bool]) -> float | None:
    return sum(agreed) / len(agreed) if agreed else None


def _require(one: Sequence[object], other: Sequence[object]) -> None:
    if len(one) != len(other):
        raise InvalidInput.of(
            "observers",
            "The first wrote {n} entries and the second {m}; give the same intervals or trials for both.",
            n=len(one),
            m=len(other),
        )
    if not one:
        raise InvalidInput.of("observers", "Nothing was written down; agreement needs at least one entry each.")


def _require_not_negative(one: Sequence[float], other: Sequence[float]) -> None:
    if not all(figure >= 0 for figure in (*one, *other)):
        raise InvalidInput.of("observers", "A count or a duration below 0 cannot be; check what was written down.")
