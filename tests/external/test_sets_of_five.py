"""The sets-of-five table, every cell, and the same rule repeated until it decides.

Source: exact binomial sums, printed to four decimals by an earlier, separate computation; scipy.stats.binom. The
rule itself is common practice, no source.
"""

import pytest
from scipy.stats import binom

from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.sets_of_five import (
    operating_characteristics,
    set_of_five_chances,
    sets_of_five_until_decided,
)

HALF_A_DIGIT = 0.5e-4 + 1e-9

PRINTED = {
    # p: raise, keep, lower, 5/5, >=8/10, >=9/10, three sessions in a row >=8/10, >=12/15
    0.5: (0.1875, 0.3125, 0.5000, 0.0313, 0.0547, 0.0107, 0.0002, 0.0176),
    0.6: (0.3370, 0.3456, 0.3174, 0.0778, 0.1673, 0.0464, 0.0047, 0.0905),
    0.7: (0.5282, 0.3087, 0.1631, 0.1681, 0.3828, 0.1493, 0.0561, 0.2969),
    0.8: (0.7373, 0.2048, 0.0579, 0.3277, 0.6778, 0.3758, 0.3114, 0.6482),
    0.9: (0.9185, 0.0729, 0.0086, 0.5905, 0.9298, 0.7361, 0.8039, 0.9444),
    0.95: (0.9774, 0.0214, 0.0012, 0.7738, 0.9885, 0.9139, 0.9659, 0.9945),
}

REPEATED = {
    # p: P(raise), expected trials of "4 of 5 up, at most 2 down", repeated until a decision
    0.5: (0.273, 7.3),
    0.6: (0.515, 7.6),
    0.7: (0.764, 7.2),
    0.8: (0.927, 6.3),
    0.85: (0.969, 5.8),
    0.9: (0.991, 5.4),
}


def at_least(k: int, n: int, p: float) -> float:
    """Return P(at least k of n) by way of a rule that raises there and is asked once, after n trials."""
    return operating_characteristics(
        p, lambda met, not_met, _: Action.RAISE if met + not_met == n and met >= k else None, n_trials=n
    ).p_raise


@pytest.mark.parametrize(("p", "row"), PRINTED.items())
def test_one_set_of_five_gives_the_printed_chances(p, row):
    chances = set_of_five_chances(p)
    found = [chances[action] for action in (Action.RAISE, Action.KEEP, Action.LOWER)]
    assert found == pytest.approx(row[:3], abs=HALF_A_DIGIT)


@pytest.mark.parametrize(("p", "row"), PRINTED.items())
def test_stricter_criteria_give_the_printed_chances(p, row):
    eight = at_least(8, 10, p)
    found = [at_least(5, 5, p), eight, at_least(9, 10, p), eight**3, at_least(12, 15, p)]
    assert found == pytest.approx(row[3:], abs=HALF_A_DIGIT)


@pytest.mark.parametrize("p", [0.0, 0.15, 0.5, 0.72, 0.99, 1.0])
def test_chances_agree_with_scipy(p):
    chances, reference = set_of_five_chances(p), binom(5, p)
    assert chances[Action.RAISE] == pytest.approx(reference.sf(3), abs=1e-12)
    assert chances[Action.KEEP] == pytest.approx(reference.pmf(3), abs=1e-12)
    assert chances[Action.LOWER] == pytest.approx(reference.cdf(2), abs=1e-12)


@pytest.mark.parametrize(("p", "row"), REPEATED.items())
def test_sets_repeated_until_they_decide_give_the_printed_values(p, row):
    found = sets_of_five_until_decided(p)
    assert found.p_raise == pytest.approx(row[0], abs=0.5e-3 + 1e-9)
    assert found.n_trials == pytest.approx(row[1], abs=0.05 + 1e-9)
