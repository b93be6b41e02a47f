"""Shares, differences and their standard errors over dogs."""

import numpy as np
import pytest

from pupilage.core.simulation.worlds.scoring import gap_closed, mean_difference, mean_of

N = 400


@pytest.fixture(scope="module")
def goals():
    """Goals met by three policies with the same dogs: what a dog is like moves all three."""
    rng = np.random.default_rng(11)
    dog = rng.normal(0.0, 1.2, N)
    below, score, above = (mean + dog + rng.normal(0.0, 0.8, N) for mean in (2.0, 3.6, 4.0))
    return score, below, above


def bootstrapped(figure, goals, n=2000):
    rng = np.random.default_rng(5)
    drawn = rng.integers(0, N, (n, N))
    return np.std([figure(*(one[rows] for one in goals)) for rows in drawn])


def test_share_closed_is_nothing_at_the_lower_policy_and_all_at_the_upper(goals):
    _, below, above = goals
    assert gap_closed(below, below, above).value == 0.0
    assert gap_closed(above, below, above).value == 1.0


def test_error_of_the_share_closed_is_that_of_a_bootstrap(goals):
    found = gap_closed(*goals)
    assert found.value == pytest.approx(0.8, abs=4 * found.error)
    # error of a bootstrapped standard deviation: 1 / sqrt(2 * 2000) = 1.6 %; 8 % is five of them
    assert found.error == pytest.approx(bootstrapped(lambda *g: gap_closed(*g).value, goals), rel=0.08)


def test_difference_is_paired_so_that_what_both_share_falls_away(goals):
    score, below, _ = goals
    found = mean_difference(score, below)
    assert found.value == pytest.approx((score - below).mean())
    assert found.error == pytest.approx(0.8 * np.sqrt(2.0 / N), rel=0.15)  # 0.8: the noise that is not shared
    assert found.error < 0.75 * np.hypot(score.std() / np.sqrt(N), below.std() / np.sqrt(N))


def test_mean_over_worlds_with_the_same_dogs_counts_what_they_share(goals):
    one = gap_closed(*goals)
    again = mean_of([one, one, one])
    assert again.value == pytest.approx(one.value)
    assert again.error == pytest.approx(one.error)  # three times the same world tells no more than once
