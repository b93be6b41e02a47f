"""The law of short gaps between uniform points: Fisher's largest gap, closed forms, and simulation.

Fisher (1929), Tests of significance in harmonic analysis, Proc. Roy. Soc. A 125, 54-59, table of the 5 % points of the
largest of n parts of a whole (values from memory; that of n = 5 is 1 − 0.01^(1/4)). Feller, An Introduction to
Probability Theory and Its Applications II (1971), I.9, for gaps that all exceed a length.
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.stats import beta

from pupilage.core.incidents.bursts import FEWEST, Bursts, p_short_gaps, weigh_bursts
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
FREE = [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=8)) for d in range(10)]


def at_free_hours(hours):
    return [FREE[int(h // 8)].start + timedelta(hours=h % 8) for h in hours]


@pytest.mark.parametrize(("n", "largest"), [(5, 0.68377), (10, 0.44495), (20, 0.27040)])
def test_largest_part_exceeds_fishers_point_in_one_whole_of_twenty(n, largest):
    # All n parts between n − 1 points are at most the point in 95 %; the table has five digits.
    assert p_short_gaps(n, n_gaps=n, n_points=n - 1, share=largest) == pytest.approx(0.95, abs=5e-5)


def test_no_gap_is_short_with_the_closed_form():
    # Feller II, I.9: all n − 1 gaps between n points exceed δ with chance (1 − (n − 1)δ)ⁿ.
    assert 1.0 - p_short_gaps(1, n_gaps=7, n_points=8, share=0.03) == pytest.approx((1 - 7 * 0.03) ** 8, rel=1e-9)


def test_chances_of_all_counts_sum_to_the_expected_count():
    n, share = 40, 1 / 90
    expected = sum(p_short_gaps(k, n_gaps=n - 1, n_points=n, share=share) for k in range(1, n))
    assert expected == pytest.approx((n - 1) * (1 - (1 - share) ** n), rel=1e-6)


def test_chance_is_that_of_simulated_points():
    # 40,000 records of 14 points; four standard errors are at most 0.01.
    points = np.sort(np.random.default_rng(7).random((40_000, 14)), axis=1)
    n_short = (np.diff(points, axis=1) <= 0.02).sum(axis=1)
    for k in (2, 4, 6):
        ours = p_short_gaps(k, n_gaps=13, n_points=14, share=0.02)
        assert ours == pytest.approx((n_short >= k).mean(), abs=0.01)


def test_pairs_an_hour_apart_are_called_bursts_and_say_how_rare_they_are():
    hours = [h for start in (2, 14, 27, 41, 58, 70) for h in (start + 0.1, start + 0.6)]
    found = weigh_bursts(at_free_hours(hours), free=FREE)
    assert (found.n, found.n_soon) == (12, 6)
    assert found.is_called
    assert str(found.says).startswith("They come in bursts: 6 of 12")


def test_evenly_spread_incidents_are_no_bursts():
    found = weigh_bursts(at_free_hours(range(1, 80, 7)), free=FREE)
    assert (found.n_soon, found.is_called) == (0, False)
    assert str(found.says).startswith("No bursts show: 0 of 12")


def test_too_few_say_nothing():
    assert weigh_bursts(at_free_hours(range(FEWEST - 1)), free=FREE) is None


def test_expected_count_is_that_of_scipys_law_of_one_gap():
    # A gap between n uniform points has the law Beta(1, n) (Feller II, I.7); SciPy gives its distribution function.
    found = weigh_bursts(at_free_hours(np.linspace(1.0, 79.0, 12)), free=FREE)
    assert found.expected == pytest.approx(11 * beta(1, 12).cdf(1 / 80), rel=1e-9)


def test_chance_of_one_pair_soon_is_fellers_closed_form_on_the_records_own_hours():
    # Feller II, I.9, as above: 8 points in 80 free hours, all 7 gaps above one hour with chance (1 − 7/80)⁸.
    found = weigh_bursts(at_free_hours([0, 10, 20, 30, 40, 50, 60, 61]), free=FREE)
    assert (found.n, found.n_soon) == (8, 1)
    assert found.p == pytest.approx(1 - (1 - 7 / 80) ** 8, rel=1e-8)


def test_more_short_gaps_than_there_are_gaps_cannot_be():
    assert p_short_gaps(8, n_gaps=7, n_points=8, share=0.03) == 0.0


@pytest.mark.parametrize(("gap_min", "n_soon"), [(60, 1), (60.5, 0)])
@pytest.mark.parametrize("from_hour", [3, 7.5])
def test_soon_is_a_free_hour_of_the_log_with_the_night_cut_out(from_hour, gap_min, n_soon):
    """From 7.5 hours on, the day ends before the next one comes: the night between counts for nothing."""
    hours = [from_hour, from_hour + gap_min / 60, 20, 30, 40, 50, 60, 70]
    assert weigh_bursts(at_free_hours(hours), free=FREE).n_soon == n_soon


def test_eight_incidents_are_weighed_and_seven_are_not():
    assert weigh_bursts(at_free_hours(range(0, 80, 10)), free=FREE).n == 8
    assert weigh_bursts(at_free_hours(range(0, 70, 10)), free=FREE) is None


def test_a_record_of_one_free_hour_cannot_hold_bursts():
    short = [Stretch(START, START + timedelta(hours=1))]
    assert weigh_bursts([START + timedelta(minutes=n) for n in range(10)], free=short) is None


@pytest.mark.parametrize(("p", "is_called"), [(0.05, True), (0.0502, False)])
def test_bursts_are_called_up_to_one_record_of_twenty(p, is_called):
    assert Bursts(8, 3, 1.0, p).is_called is is_called
