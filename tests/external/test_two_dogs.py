"""Two dogs, leaving it, and what to record next: beside printed tables, SciPy and statsmodels."""

from datetime import UTC, datetime, timedelta
from math import log

import numpy as np
import pytest
from scipy.stats import binomtest, fisher_exact, norm
from statsmodels.discrete.discrete_model import Logit
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson_2indep

from pupilage.core.incidents.between_dogs import BetweenDogs, Who
from pupilage.core.incidents.leaving import weigh_leaving
from pupilage.core.incidents.next_record import information
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.two_dogs import SETTLES, answer_two_dogs

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)

# Garwood (1936), Biometrika 28, 437-442: two-sided 95 % limits; k = 0, 10 and 25 as printed, the others computed.
GARWOOD = {0: (0.0, 3.6889), 3: (0.6187, 8.7673), 10: (4.7954, 18.3904), 25: (16.1787, 36.9049)}


def days(n):
    return [Stretch(START + timedelta(days=d), START + timedelta(days=d) + HOUR) for d in range(n)]


@pytest.mark.parametrize("k", GARWOOD)
def test_rate_of_flare_ups_has_garwoods_limits_over_the_calm_hours(k):
    """30 hours together, an incident in the middle of k of them: 30 h less k times ten minutes are calm."""
    together = days(30)
    incidents = [
        Incident(str(d), "rough-play-with-dog", START + timedelta(days=d, minutes=30), between=BetweenDogs())
        for d in range(k)
    ]
    found = answer_two_dogs(incidents, free=together, present={Before.RESIDENT_NEAR: together})
    calm = 30.0 - k * (SETTLES / HOUR)
    assert found.hours_calm == pytest.approx(calm)
    assert (found.rate.low * calm, found.rate.high * calm) == pytest.approx(GARWOOD[k], abs=1e-4)


@pytest.mark.parametrize(("k", "n"), [(1, 4), (6, 6), (7, 9)])
def test_share_of_who_starts_has_scipys_exact_limits(k, n):
    incidents = [
        Incident(
            str(i),
            "guarding",
            START + timedelta(days=i),
            between=BetweenDogs(started=Who.PUP if i < k else Who.RESIDENT),
        )
        for i in range(n)
    ]
    found = answer_two_dogs(incidents, free=[], present={})
    pup = next(one for one in found.started if one.key == Who.PUP)
    exact = binomtest(k, n).proportion_ci(0.95, method="exact")
    assert (pup.n, pup.of) == (k, n)
    assert (pup.low, pup.high) == pytest.approx((exact.low, exact.high))


@pytest.mark.parametrize("marks", ["xlxxlxllll", "xxxxxlllllll", "lxlxlxlx"])
def test_leaving_it_has_statsmodels_wilson_limits_and_scipys_fisher_p(marks):
    """The newer half beside the older, by hand; the odd one in the middle goes with the newer."""
    record = [
        Incident(str(i), "jumping-up", START + timedelta(hours=i), left_it=mark == "l") for i, mark in enumerate(marks)
    ]
    found = weigh_leaving(record)
    n, k, half = len(marks), marks.count("l"), len(marks) // 2
    old, new = marks[:half].count("l"), marks[half:].count("l")
    assert (found.low, found.high) == pytest.approx(proportion_confint(k, n, method="wilson"))
    assert found.p == pytest.approx(fisher_exact([[new, n - half - new], [old, half - old]]).pvalue)


@pytest.mark.parametrize(("n", "share"), [(40, 0.25), (60, 0.5), (200, 0.1)])
def test_information_gives_the_width_of_statsmodels_interval_of_the_log_ratio(n, share):
    """Equal rates: the interval by the log method is 2 · 1.96 ÷ √information wide on the scale of the logarithm."""
    n_with = n * share
    low, high = confint_poisson_2indep(n_with, share, n - n_with, 1.0 - share, method="wald-log", compare="ratio")
    assert log(high / low) == pytest.approx(2.0 * norm.ppf(0.975) / information(n, share) ** 0.5)


@pytest.mark.parametrize(("p", "share"), [(0.5, 0.15), (0.75, 0.6), (0.2, 0.5)])
def test_occasions_tell_what_statsmodels_logistic_regression_has_for_its_slope(p, share):
    """Without a difference the slope's inverse variance is n·p·(1 − p)·s·(1 − s), beside an intercept to be found."""
    with_it = np.repeat([0.0, 1.0], [round(400 * (1 - share)), round(400 * share)])
    model = Logit(np.zeros(400), np.column_stack([np.ones(400), with_it]))
    covariance = np.linalg.inv(-model.hessian(np.array([log(p / (1 - p)), 0.0])))
    assert 1.0 / covariance[1, 1] == pytest.approx(p * (1 - p) * information(400, share))
