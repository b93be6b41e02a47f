"""Antecedents: Fisher's tea table, odds ratios and step-up adjustment beside SciPy, and what chance alone calls."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import contingency, false_discovery_control, fisher_exact

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.antecedents import Chances, Times, adjust_for_many, fisher_p, odds_ratio, weigh_antecedents
from pupilage.core.incidents.rates import Tally


def test_tea_table_has_fishers_p():
    # Fisher (1935), The Design of Experiments, ch. 2: eight cups; all right 1/70 one way, three right 17/70.
    assert fisher_p(Chances(4, 4, 0, 4)) == pytest.approx(2 / 70)
    assert fisher_p(Chances(3, 4, 1, 4)) == pytest.approx(34 / 70)
    assert odds_ratio(Chances(3, 4, 1, 4)).value == pytest.approx(6.408, abs=5e-4)  # as R prints it


@pytest.mark.parametrize(
    "cells", [(9, 11, 4, 76), (6, 4, 1, 11), (0, 5, 4, 6), (5, 0, 4, 6), (1, 9, 0, 12), (3, 3, 3, 3)]
)
def test_odds_ratio_and_p_are_scipys(cells):
    a, b, c, d = cells
    table = Chances(a, a + b, c, c + d)
    theirs = contingency.odds_ratio([[a, b], [c, d]])
    limits = theirs.confidence_interval(0.95)
    ours = odds_ratio(table)
    assert ours.value == pytest.approx(theirs.statistic, rel=1e-4)  # SciPy's own root is found to five digits
    assert (ours.low, ours.high) == pytest.approx((limits.low, limits.high), rel=1e-6)
    assert fisher_p(table) == pytest.approx(fisher_exact([[a, b], [c, d]]).pvalue, rel=1e-9)


def test_reference_table_has_its_values():
    # R48: [[9, 11], [4, 76]].
    table = Chances(9, 20, 4, 80)
    found = odds_ratio(table)
    assert (found.value, found.low, found.high) == pytest.approx((14.851987, 3.461030, 77.932081), rel=1e-6)
    assert fisher_p(table) == pytest.approx(3.956979e-5, rel=1e-6)


def test_step_up_adjustment_is_scipys():
    # R49; Benjamini & Hochberg (1995).
    p = [0.001, 0.008, 0.039, 0.041, 0.042, 0.06, 0.074, 0.205, 0.212, 0.216]
    printed = [0.01, 0.04, 0.084, 0.084, 0.084, 0.1, 0.105714, 0.216, 0.216, 0.216]
    assert adjust_for_many(p) == pytest.approx(printed, abs=5e-7)
    mixed = [p[i] for i in (3, 9, 0, 5, 1)]
    assert adjust_for_many(mixed) == pytest.approx(false_discovery_control(mixed))
    assert adjust_for_many([]) == []


def test_planted_antecedent_leads_and_chance_is_seldom_called():
    # 300 records of 12 incidents among eight antecedents, each present a fifth of the time; one raises the rate eight
    # times in half of the records, and none in the other half. Four standard errors are allowed for.
    rng = np.random.default_rng(3)
    led, called = [], []
    for planted in (True, False) * 150:
        lead = rng.random(12) < (8 * 0.2 / (8 * 0.2 + 0.8) if planted else 0.2)
        tables = {
            f"a{i}": Times(Tally(int(n), 20.0), Tally(12 - int(n), 80.0))
            for i, n in enumerate([lead.sum(), *rng.binomial(12, 0.2, 7)])
        }
        found = weigh_antecedents(tables)
        if planted:
            led.append(found[0].key == "a0")
        else:
            called.append(any(suspect.is_called for suspect in found))
    assert np.mean(led) >= 0.90
    assert np.mean(called) <= 0.05 + 4 * math.sqrt(0.05 * 0.95 / len(called))


def test_shrunk_ratio_is_the_quantile_of_its_integral():
    # Binomial likelihood of 3 of 3 incidents in 1.56 of 63.9 hours, log ratio normal (0, 1) beforehand: SciPy's quad.
    present, absent = Tally(3, 1.56), Tally(0, 62.3)
    found = weigh_antecedents({"a": Times(present, absent)})[0].shrunk

    def density(x):
        share = 1.56 * math.exp(x) / (1.56 * math.exp(x) + 62.3)
        return math.exp(-0.5 * x * x) * share**3

    total = quad(density, -8, 8, epsabs=1e-16)[0]
    for ratio, below in ((found.low, 0.025), (found.value, 0.5), (found.high, 0.975)):
        assert quad(density, -8, math.log(ratio), epsabs=1e-16)[0] / total == pytest.approx(below, abs=1e-4)


def test_three_incidents_call_nothing():
    found = weigh_antecedents({"bell": Times(Tally(3, 1.0), Tally(0, 99.0))})
    assert found[0].p < 0.001
    assert not found[0].is_called


def test_more_incidents_than_opportunities_are_refused():
    with pytest.raises(InvalidInput):
        Chances(5, 4, 0, 3)
