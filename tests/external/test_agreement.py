"""Agreement of two observers on the worked examples of Reed & Azulay (2011), and kappa beside statsmodels."""

import pytest
from statsmodels.stats.inter_rater import cohens_kappa

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.agreement import (
    agree_on_counts,
    agree_on_durations,
    agree_on_intervals,
    agree_on_trials,
)

# Reed & Azulay (2011), Behavior Analysis in Practice 4(2), 45-52, as quoted on other pages: 15 minutes.
FIRST_COUNTS = [1, 1, 1, 2, *[0] * 11]
SECOND_COUNTS = [0, 0, 0, 1, *[0] * 10, 4]


def test_counts_agree_as_in_the_worked_example():
    found = agree_on_counts(FIRST_COUNTS, SECOND_COUNTS)
    assert (found.total, found.mean, found.exact) == pytest.approx((1.0, 0.700, 0.667), abs=5e-4)


def test_intervals_agree_as_in_the_worked_example():
    # Seven intervals: they differ in 1 and 7, neither saw it in 2 to 4, both in 5 and 6.
    found = agree_on_intervals([True, *[False] * 3, True, True, False], [False, *[False] * 3, True, True, True])
    assert (found.all, found.scored, found.unscored) == pytest.approx((0.714, 0.5, 0.6), abs=5e-4)


def test_durations_agree_as_in_the_worked_example():
    # Ratios of 99.7, 2.3, 69.2 and 92.7 %: mean 66 %.
    found = agree_on_durations([997, 23, 692, 927], [1000, 1000, 1000, 1000])
    assert found.mean == pytest.approx(0.65975)
    assert found.total == pytest.approx(2639 / 4000)


def test_kappa_and_its_limits_are_those_of_the_table():
    # R61: [[20, 5], [10, 15]]: .4 (.151092-.648907), statsmodels.
    one = ["y"] * 25 + ["n"] * 25
    other = ["y"] * 20 + ["n"] * 5 + ["y"] * 10 + ["n"] * 15
    found = agree_on_trials(one, other)
    assert (found.share, found.kappa) == pytest.approx((0.70, 0.40))
    assert (found.low, found.high) == pytest.approx((0.151092, 0.648907), abs=1e-6)
    assert len(found.differing) == 15


def test_kappa_of_three_words_is_statsmodels():
    table = [[12, 3, 1], [2, 9, 4], [0, 5, 14]]
    one = [i for i in range(3) for j in range(3) for _ in range(table[i][j])]
    other = [j for i in range(3) for j in range(3) for _ in range(table[i][j])]
    theirs, ours = cohens_kappa(table), agree_on_trials(one, other)
    assert ours.kappa == pytest.approx(theirs.kappa)
    assert (ours.low, ours.high) == pytest.approx((theirs.kappa_low, theirs.kappa_upp))


def test_one_word_used_by_both_has_no_kappa():
    found = agree_on_trials(["met"] * 4, ["met"] * 4)
    assert (found.share, found.kappa) == (1.0, None)


@pytest.mark.parametrize(("one", "other"), [([1, 2], [1]), ([], []), ([1], [-1])])
def test_records_that_do_not_fit_are_refused(one, other):
    with pytest.raises(InvalidInput):
        agree_on_counts(one, other)
