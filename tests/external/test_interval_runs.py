"""The timer's stretches against published lists and worked examples.

Sources: Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530 (VI 30 s, N = 12); twelve mouthing events in 30
minutes: a mean of 2.5 minutes, begun with two (the list of facts that the project was given, 5.5).
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from pupilage.core.incidents.interval_runs import (
    TERMS,
    RunEvent,
    RunEventKind,
    Spacing,
    fold_run,
    interval_at,
    interval_list,
    multiples,
)
from pupilage.core.incidents.intervals import first_interval
from pupilage.core.incidents.rates import Tally

PUBLISHED = (1.286, 4.017, 7.022, 10.363, 14.122, 18.423, 23.446, 29.487, 37.067, 47.261, 62.958, 104.547)
HALF_A_DIGIT = 0.5e-3 + 1e-9
START = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)


def test_timers_list_of_mean_thirty_is_the_published_one():
    assert interval_list(30.0) == pytest.approx(PUBLISHED, abs=HALF_A_DIGIT)
    assert np.mean(interval_list(30.0)) == pytest.approx(30.0)


@pytest.mark.parametrize("block", [0, 1, 7])
def test_shuffled_list_holds_every_published_stretch_once(block):
    shuffled = multiples(Spacing.VARIABLE, "a-seed", block)
    assert sorted(30.0 * one for one in shuffled) == pytest.approx(PUBLISHED, abs=HALF_A_DIGIT)


def test_twelve_timed_stretches_of_mean_thirty_last_six_minutes():
    """The shortest of the list, 1.3 s, is above the least of 1 s; each is timed in tenths of a second."""
    timed = [interval_at(30.0, Spacing.VARIABLE, "a-seed", n) for n in range(TERMS)]
    assert sum(timed) == pytest.approx(360.0, abs=0.05 * TERMS)


def test_twelve_in_half_an_hour_are_timed_by_two_minutes_at_first():
    mean_s = first_interval(Tally(12, 30.0)).seconds
    assert fold_run(mean_s, Spacing.FIXED, "", []).interval_s == pytest.approx(120.0)


def test_three_paid_in_a_row_lengthen_by_a_proportion_between_ten_and_twenty_per_cent():
    """As in TRADE's rule for lengthening; the interval that the behaviour broke becomes shorter."""
    events = [RunEvent("0", RunEventKind.BEGAN, START, 120.0, 120.0)]
    events += [RunEvent(str(n), RunEventKind.PAID, START + timedelta(seconds=120 * n), 120.0, 120.0) for n in (1, 2, 3)]
    grown = fold_run(120.0, Spacing.FIXED, "", events)
    assert 1.10 <= grown.mean_s / 120.0 <= 1.20
    came = RunEvent("4", RunEventKind.CAME, START + timedelta(seconds=400), grown.mean_s, grown.interval_s)
    assert fold_run(120.0, Spacing.FIXED, "", [*events, came]).mean_s < 120.0
