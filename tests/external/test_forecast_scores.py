"""Forecast scores beside scikit-learn's, medians beside lifelines', and figures worked by hand.

Source: Brier (1950); Murphy (1973), J. Appl. Meteorol. 12, 595-600; Stephenson, Coelho & Jolliffe (2008), Weather
Forecast. 23, 752-757: the sum of the five parts is the score for any bins. Cluster variance: NumPy below.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import t as student

from pupilage.cli.checks_environment import ask, find_python
from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.forecast_scores import Told, bins_of, score
from pupilage.core.own_review.outcomes import middle_of

BESIDE = Path(__file__).parent.parent / "beside"
rng = np.random.default_rng(7)
CHANCES = [float(p) for p in np.round(rng.uniform(0.02, 0.98, 120), 3)]
MET = [bool(rng.uniform() < p**1.5) for p in CHANCES]
TOLD = [Told(p, met, str(n // 10)) for n, (p, met) in enumerate(zip(CHANCES, MET, strict=True))]
SPENT = [4, 5, 6, 6, 7, 8, 9, 9, 11, 12, 14, 14, 15, 18, 20]
REACHED = [True, True, False, True, True, True, True, False, True, True, False, True, True, False, False]


@pytest.mark.skipif(find_python() is None, reason="needs .venv-checks; scripts/set_up_checks makes it")
def test_scores_and_medians_are_those_of_scikit_learn_and_lifelines():
    theirs = ask(
        BESIDE / "forecast_scores.py",
        json.dumps(CHANCES),
        json.dumps([int(met) for met in MET]),
        json.dumps(SPENT),
        json.dumps([int(one) for one in REACHED]),
    )
    found = score(TOLD)
    assert found.brier == pytest.approx(theirs["brier"], abs=1e-12)
    assert [b.share for b in found.bins] == pytest.approx(theirs["share"], abs=1e-12)
    assert [b.mean_p for b in found.bins] == pytest.approx(theirs["mean_p"], abs=1e-12)
    middle = middle_of(list(zip(SPENT, REACHED, strict=True)))
    assert middle.value == theirs["median"]
    assert [middle.low, middle.high] == theirs["limits"]


def test_parts_add_up_to_the_score_for_any_bins():
    found = score(TOLD)
    whole = found.reliability - found.resolution + found.uncertainty + found.within
    assert whole == pytest.approx(found.brier, abs=1e-12)
    assert abs(found.within) > 1e-4  # the bins are not of equal forecasts: without this part the sum would be off


def test_forecasts_by_hand_have_murphys_parts():
    # Ten at 0.1 of which one came, ten at 0.9 of which seven came. Score (9·0.01 + 0.81 + 7·0.01 + 3·0.81) ÷ 20
    # = 0.17; reliability ½·0 + ½·0.04 = 0.02; base 0.4, resolution ½·0.09 + ½·0.09 = 0.09; uncertainty 0.24.
    told = [Told(0.1, n < 1, str(n % 5)) for n in range(10)] + [Told(0.9, n < 7, str(n % 5)) for n in range(10)]
    found = score(told)
    parts = (found.brier, found.reliability, found.resolution, found.uncertainty, found.within)
    assert parts == pytest.approx((0.17, 0.02, 0.09, 0.24, 0.0), abs=1e-12)
    assert found.skill == pytest.approx(1 - 0.17 / 0.24)


def test_limits_let_the_forecasts_of_a_stay_hang_together():
    losses = np.array([(p - met) ** 2 for p, met in zip(CHANCES, MET, strict=True)]).reshape(12, 10)
    error = losses.mean(axis=1).std(ddof=1) / np.sqrt(12)  # equal clusters: the mean of their means
    reach = student.ppf(0.975, 11) * error
    found = score(TOLD)
    assert (found.low, found.high) == pytest.approx((losses.mean() - reach, losses.mean() + reach), abs=1e-12)


def test_too_few_forecasts_or_stays_have_no_score():
    assert score(TOLD[:19]) is None
    assert score([Told(one.p, one.met, "a") for one in TOLD]) is None
    assert score([]) is None
    assert bins_of([]) == []


@pytest.mark.parametrize("p", [-0.1, 1.1, float("nan")])
def test_what_is_no_chance_is_refused(p):
    with pytest.raises(InvalidInput):
        bins_of([Told(p, True, "a")])


def test_edges_belong_to_the_upper_bin_and_one_to_the_last():
    found = bins_of([Told(p, True, "a") for p in (0.0, 0.2, 0.8, 1.0)])
    assert [(b.start, b.n) for b in found] == [(0.0, 1), (0.2, 1), (0.8, 2)]
