"""The curve by minutes since something: hours against a count minute by minute, limits against statsmodels.

Garwood (1936), Biometrika 28, 437-442: statsmodels 0.15, `confint_poisson(method="exact-c")`. Przyborowski & Wilenski
(1940), Biometrika 31, 313-323: SciPy's `binomtest`. Rates constant in a slot: Breslow (1972), J. Roy. Stat. Soc. B 34,
216-217.
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.stats import binomtest
from statsmodels.stats.rates import confint_poisson

from pupilage.core.incidents.since import EDGES_MIN, Since, curves_since, slots_since
from pupilage.core.incidents.slots import find_rise, slot_of
from pupilage.core.incidents.stretches import Stretch, holds, union

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def a_record(seed):
    """Free stretches, moments and incidents of ten days, all on whole minutes."""
    rng = np.random.default_rng(seed)
    free, moments = [], []
    for day in range(10):
        midnight = START + timedelta(days=day)
        for start in np.cumsum(rng.integers(60, 150, size=6)):
            free.append(Stretch(midnight + int(start) * MINUTE, midnight + int(start + rng.integers(20, 60)) * MINUTE))
        moments += [midnight + int(at) * MINUTE for at in rng.integers(0, 900, size=5)]
    free = union(free)
    inside = [s.start + n * MINUTE for s in free for n in range(s.length // MINUTE)]
    ats = [inside[i] for i in rng.choice(len(inside), size=40, replace=False)]
    return free, moments, ats


@pytest.mark.parametrize("seed", range(3))
def test_hours_and_incidents_are_those_counted_minute_by_minute(seed):
    free, moments, ats = a_record(seed)
    minutes, counts = dict.fromkeys(EDGES_MIN[:-1], 0), dict.fromkeys(EDGES_MIN[:-1], 0)
    for n in range(11 * 24 * 60):
        at = START + n * MINUTE
        known = [moment for moment in moments if moment <= at]
        if not known or not holds(free, at):
            continue
        gone = (at - max(known)) / MINUTE
        if gone < EDGES_MIN[-1]:
            start = max(edge for edge in EDGES_MIN if edge <= gone)
            minutes[start] += 1
            counts[start] += at in ats
    slots = slots_since(ats, free=free, moments=moments)
    assert {slot.start: slot.n for slot in slots} == counts
    assert {slot.start: pytest.approx(60 * slot.hours) for slot in slots} == minutes


def test_rate_of_each_slot_has_the_exact_limits_of_statsmodels():
    free, moments, ats = a_record(4)
    for slot in slots_since(ats, free=free, moments=moments):
        if slot.rate is not None:
            low, high = confint_poisson(slot.n, slot.hours, method="exact-c", alpha=0.05)
            assert slot.rate.value == slot.n / slot.hours
            assert (slot.rate.low, slot.rate.high) == pytest.approx((low, high), rel=1e-9)


def test_slot_that_stands_out_has_the_binomial_p_times_the_slots_looked_at():
    slots = [slot_of(0, 15, n=9, hours=6.0), slot_of(15, 30, n=2, hours=7.0), slot_of(30, 60, n=3, hours=12.0)]
    found = find_rise(slots, n_looked=3)
    assert found.slot == slots[0]
    assert found.p == pytest.approx(3 * binomtest(9, 14, 6.0 / 25.0).pvalue, rel=1e-9)


def is_called(rise):
    return rise is not None and rise.stands_out


def test_no_more_than_one_record_in_twenty_has_a_slot_that_stands_out_by_chance():
    # 400 records without any dependence; Bonferroni holds 5 %, and four standard errors of 400 trials are 4.4 %.
    called = 0
    for seed in range(400):
        rng = np.random.default_rng(seed)
        hours = rng.uniform(1.0, 20.0, size=5)
        counts = rng.multinomial(int(rng.integers(5, 30)), hours / hours.sum())
        slots = [
            slot_of(i, i + 1, n=int(n), hours=float(h)) for i, (n, h) in enumerate(zip(counts, hours, strict=True))
        ]
        called += is_called(find_rise(slots, n_looked=5))
    assert called / 400 <= 0.05 + 0.044


def test_planted_quarter_of_an_hour_after_waking_is_named():
    free = [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=3)) for d in range(10)]
    wakes = {Since.WAKING: [stretch.start for stretch in free]}
    ats = [stretch.start + 10 * MINUTE for stretch in free[:8]] + [free[8].start + 100 * MINUTE]
    curve = curves_since(ats, free=free, moments=wakes)[Since.WAKING]
    assert (curve.standout.start, curve.standout.end) == (0, 15)
    assert str(curve.says).startswith("Most often 0 to 15 minutes after waking")
