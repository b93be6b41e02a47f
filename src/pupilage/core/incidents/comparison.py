"""One phase beside the one before it: how many times as often, for how many days, and by what else it may be."""

from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import betainc

from pupilage.core.evaluation.effect_sizes import FEWEST, Effect, effect_of
from pupilage.core.incidents.days import DayCount, tally_of
from pupilage.core.incidents.rates import Interval, Tally, p_fewer, p_no_difference, ratio_of
from pupilage.core.incidents.regression import Step, step_of, trend_of, unevenness, widened

LAST_DAYS = 3
"""Watched days just before a start that are compared with the days before them: plans begin on bad days."""

FIRST_DAYS = 3
"""Watched days from a start that a burst may fill (the window of the published counts of bursts; from memory)."""

BAD = 0.10
"""Chance, were all days alike, of last days so bad, from which the caution is said."""

LEAST_DAY_HOURS = 1.0
"""Free hours below which a day's rate is no figure to rank."""


@dataclass(frozen=True)
class Comparison:
    """Two phases of one behaviour; ratios are later over earlier.

    ratio: exact limits, widened by `unevenness` (above 1 where days differ more than chance allows); p_fewer: chance
    that the later rate is lower; p: exact, two-sided; effect: None under three days of an hour in either phase;
    best_day_before: the lowest rate of a day in the earlier phase;
    trend_before: what the earlier phase was multiplied by each week; step: beside a trend through both phases;
    began_on_bad_days: the last days before were worse than those before them; without_bad_days: the ratio without them;
    without_first_days: the ratio without the first three watched days of the later phase.
    """

    before: Tally
    after: Tally
    n_days_before: int
    n_days_after: int
    ratio: Interval
    unevenness: float
    p_fewer: float
    p: float
    effect: Effect | None
    best_day_before: float
    trend_before: Interval | None
    step: Step | None
    began_on_bad_days: bool
    without_bad_days: Interval | None
    without_first_days: Interval | None


def compare(before: Sequence[DayCount], after: Sequence[DayCount]) -> Comparison | None:
    """Return the later days beside the earlier ones; None where either phase has no watched day.

    Model, source: `rates.ratio_of`, `effect_sizes.effect_of`, `regression.step_of`; the whole of it beside statsmodels
    in tests/external/test_phase_comparison.py.
    """
    earlier, later = tally_of(before), tally_of(after)
    if earlier is None or later is None:
        return None
    rates = _rates(before), _rates(after)
    effect = effect_of(*rates, more_is_better=False) if min(map(len, rates)) >= FEWEST else None
    uneven = unevenness([before, after])
    bad = _last_days_were_bad(before)
    step = step_of(before, after)
    return Comparison(
        before=earlier,
        after=later,
        n_days_before=len(before),
        n_days_after=len(after),
        ratio=widened(ratio_of(later, earlier), uneven),
        unevenness=uneven,
        p_fewer=p_fewer(later, earlier),
        p=p_no_difference(later, earlier),
        effect=effect,
        best_day_before=min(rates[0], default=0.0),
        trend_before=trend_of(before),
        step=None if step is None else Step(widened(step.a_week, uneven), widened(step.step, uneven)),
        began_on_bad_days=bad,
        without_bad_days=ratio_between(before[:-LAST_DAYS], after) if bad else None,
        without_first_days=ratio_between(before, after[FIRST_DAYS:]),
    )


def ratio_between(before: Sequence[DayCount], after: Sequence[DayCount]) -> Interval | None:
    """Return the ratio of two phases alone, as in `Comparison`; None where either has no watched day."""
    earlier, later = tally_of(before), tally_of(after)
    if earlier is None or later is None:
        return None
    return widened(ratio_of(later, earlier), unevenness([before, after]))


def _rates(days: Sequence[DayCount]) -> list[float]:
    return [day.n / day.hours for day in days if day.hours >= LEAST_DAY_HOURS]


def _last_days_were_bad(before: Sequence[DayCount]) -> bool:
    last, rest = tally_of(before[-LAST_DAYS:]), tally_of(before[:-LAST_DAYS])
    if last is None or rest is None:
        return False
    return p_at_least(last, rest) <= BAD


def p_at_least(later: Tally, earlier: Tally, *, unevenness: float = 1.0) -> float:
    """Return the exact chance of at least so many later events, given the sum of events and equal rates.

    Model: one tail of the binomial law of `rates.ratio_of`, an incomplete beta function; with unevenness above 1 of so
    many times fewer events (quasi-likelihood). SciPy's value in tests/external/test_phase_comparison.py.
    """
    if later.n == 0:
        return 1.0
    share = later.exposure / (later.exposure + earlier.exposure)
    return float(betainc(later.n / unevenness, earlier.n / unevenness + 1.0, share))
