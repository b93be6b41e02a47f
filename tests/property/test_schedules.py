"""Whatever the ratio and the session, a list keeps its mean, pays early, and starves nobody."""

from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.errors import InvalidInput
from pupilage.core.training.rewards.schedules import (
    TERMS,
    interval_gaps_s,
    interval_mean_s,
    paid_responses,
    ratio_gaps,
    ratio_terms,
    shuffled,
)

ratios = st.integers(6, 60).map(lambda sixths: sixths / 6)
names = st.text(max_size=40)


@given(ratios, names, st.integers(1, 5))
def test_mean_of_every_whole_list_is_the_ratio(ratio, name, blocks):
    gaps = list(islice(ratio_gaps(ratio, name), TERMS * blocks))
    assert sum(gaps) == pytest.approx(TERMS * blocks * ratio)


@given(ratios, names)
def test_no_pay_takes_longer_than_the_bound_and_the_first_is_early(ratio, name):
    gaps = list(islice(ratio_gaps(ratio, name), 3 * TERMS))
    assert min(gaps) >= 1
    assert max(gaps) <= 2.8 * ratio + 2.5  # five terms are rounded by half a response at most
    assert gaps[0] <= ratio


@given(ratios, names, st.integers(0, 80), st.integers(0, 80))
def test_list_is_the_same_again_and_a_longer_look_changes_nothing(ratio, name, n, more):
    paid = paid_responses(ratio, name, n)
    assert len(paid) == n
    assert paid_responses(ratio, name, n) == paid
    assert paid_responses(ratio, name, n + more)[:n] == paid


@given(st.floats(0.1, 3600), ratios, names)
def test_mean_of_intervals_is_kept_and_the_first_is_early(duration_s, ratio, name):
    mean_s = interval_mean_s(duration_s, ratio)
    gaps_s = list(islice(interval_gaps_s(duration_s, ratio, name), TERMS))
    assert sum(gaps_s) / TERMS == pytest.approx(mean_s, rel=1e-9)
    assert gaps_s[0] <= mean_s * (1 + 1e-6) + 1e-9


@given(names, st.integers(0, 30))
def test_shuffling_loses_nothing(name, n):
    assert sorted(shuffled(n, name)) == list(range(n))


def test_sessions_have_lists_of_their_own():
    assert len({paid_responses(3.0, f"session {n}", 30) for n in range(50)}) > 40


def test_ratio_of_one_pays_every_response():
    assert paid_responses(1.0, "s", 20) == (True,) * 20


@pytest.mark.parametrize("ratio", [0.5, float("nan"), float("inf"), 1.7, -1.0])
def test_ratio_that_makes_no_list_is_refused_in_a_sentence(ratio):
    with pytest.raises(InvalidInput, match="make no list"):
        ratio_terms(ratio)


@pytest.mark.parametrize("given", [(0.0, 2.0), (float("nan"), 2.0), (10.0, 0.5), (10.0, float("nan"))])
def test_interval_of_nothing_is_refused_in_a_sentence(given):
    with pytest.raises(InvalidInput, match="No list for holds"):
        interval_mean_s(*given)
