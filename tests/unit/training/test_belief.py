"""What counts in a belief, and what does not."""

import pytest

from engine_cases import series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.belief import belief_from_counts, believe, chance_of_at_least


def test_no_trials_leave_the_prior():
    belief = believe([])
    assert (belief.alpha, belief.beta, belief.n) == (0.5, 0.5, 0)
    assert belief.mean == 0.5


def test_helped_counts_as_not_met_and_void_not_at_all():
    belief = believe(series("mmxhhv"))
    assert (belief.n_met, belief.n_missed, belief.n_helped, belief.n) == (2, 1, 2, 5)
    assert (belief.alpha, belief.beta) == (2.5, 3.5)


def test_counts_give_the_same_belief_as_the_trials_they_count():
    assert belief_from_counts(3, 1, 1) == believe(series("mxmhm"))


def test_interval_holds_the_mean_and_narrows_with_trials():
    few, many = belief_from_counts(4, 1), belief_from_counts(16, 4)
    (low, high), (lower, higher) = many.interval(), few.interval()
    assert lower < low < many.mean < high < higher


def test_chance_above_a_threshold_runs_from_one_to_zero():
    belief = belief_from_counts(8, 2)
    assert belief.p_at_least(0.0) == 1.0
    assert belief.p_at_least(1.0) == 0.0
    assert belief.p_at_least(0.5) > belief.p_at_least(0.8)


def test_chance_of_at_least_none_is_certain_and_of_more_than_there_are_is_nil():
    assert chance_of_at_least(0, 10, alpha=2.0, beta=1.0) == 1.0
    assert chance_of_at_least(-3, 0, alpha=2.0, beta=1.0) == 1.0
    assert chance_of_at_least(11, 10, alpha=2.0, beta=1.0) == 0.0


@pytest.mark.parametrize("counts", [(-1, 0), (0, -2), (float("nan"), 1)])
def test_counts_below_zero_are_refused(counts):
    with pytest.raises(InvalidInput, match="Counts"):
        belief_from_counts(*counts)


def test_figures_outside_their_range_are_refused():
    belief = belief_from_counts(3, 2)
    with pytest.raises(InvalidInput, match="threshold"):
        belief.p_at_least(1.2)
    with pytest.raises(InvalidInput, match="level"):
        belief.interval(float("nan"))
    with pytest.raises(InvalidInput, match="n: -1 trials"):
        belief.chance_of_at_least(1, -1)
