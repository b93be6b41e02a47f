"""Phases side by side, from incidents and hours to the figures, beside statsmodels, SciPy and a reference value."""

import math
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import binomtest, chi2, mannwhitneyu

from pupilage.core.incidents.comparison import compare, p_at_least
from pupilage.core.incidents.days import DayCount
from pupilage.core.incidents.phases import PlanPhase
from pupilage.core.incidents.plan_answers import answer_plan
from pupilage.core.incidents.rates import Interval, Tally
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.regression import step_of, trend_of, unevenness, widened
from pupilage.core.incidents.stretches import Stretch

FIRST = date(2026, 5, 4)
R44B = [3, 2, 4, 1, 3, 2, 5, 2, 3, 3, 1, 4, 2, 3, 1, 2, 0, 1, 2, 1, 0, 1, 1, 0, 2, 0, 1, 0]
"""28 days of counts, a step at day 14; the list of reference values, R44b and its note 3."""
Z = 1.959963984540054


def days_of(counts, hours):
    return [
        DayCount(FIRST + timedelta(days=i), int(n), float(h))
        for i, (n, h) in enumerate(zip(counts, hours, strict=True))
    ]


def drawn(seed=3, n_before=12, n_after=15, low=0.4):
    rng = np.random.default_rng(seed)
    hours = rng.uniform(3.0, 12.0, n_before + n_after)
    rate = np.where(np.arange(len(hours)) < n_before, 0.5, 0.5 * low)
    return days_of(rng.poisson(rate * hours), hours), n_before


def glm(columns, days):
    n, log_hours = [day.n for day in days], np.log([day.hours for day in days])
    return sm.GLM(n, np.column_stack(columns), family=sm.families.Poisson(), offset=log_hours).fit(tol=1e-12)


def test_step_beside_a_trend_is_the_reference_value():
    # R44b: statsmodels' GLM: coefficients −.112094 a week and −.928491, standard errors .245886 and .592863.
    days = days_of(R44B, [1.0] * 28)
    found = step_of(days[:14], days[14:])
    for interval, value, error in ((found.a_week, -0.112094, 0.245886), (found.step, -0.928491, 0.592863)):
        assert math.log(interval.value) == pytest.approx(value, abs=5e-7)
        assert math.log(interval.high / interval.low) / (2 * Z) == pytest.approx(error, abs=5e-6)


@pytest.mark.parametrize("seed", range(4))
def test_step_and_trend_are_statsmodels_where_days_have_unlike_hours(seed):
    days, n = drawn(seed)
    week, phase = np.arange(len(days)) / 7.0, np.arange(len(days)) >= n
    theirs = glm([np.ones(len(days)), week, phase], days)
    found = step_of(days[:n], days[n:])
    assert np.log([found.a_week.value, found.step.value]) == pytest.approx(theirs.params[1:], abs=1e-8)
    assert np.log([found.step.low, found.step.high]) == pytest.approx(theirs.conf_int()[2], abs=1e-6)
    alone = glm([np.ones(n), week[:n]], days[:n])
    assert math.log(trend_of(days[:n]).value) == pytest.approx(alone.params[1], abs=1e-8)


def incidents_and_hours(days):
    """Return the days as what a log holds: free time each day, and incidents spread over it."""
    free, incidents = [], []
    for i, day in enumerate(days):
        start = datetime.combine(day.day, datetime.min.time(), UTC) + timedelta(hours=7)
        free.append(Stretch(start, start + timedelta(hours=day.hours)))
        incidents += [
            Incident(f"{i}-{k}", "counter-stealing", start + timedelta(hours=day.hours * k / (day.n + 1)))
            for k in range(day.n)
        ]
    return incidents, free


@pytest.mark.parametrize("seed", range(4))
def test_from_incidents_and_hours_to_the_ratio_it_is_statsmodels_phase_coefficient(seed):
    days, n = drawn(seed)
    incidents, free = incidents_and_hours(days)
    plan = PlanPhase(FIRST + timedelta(days=n), arrange=("gate shut",))
    compared = answer_plan(incidents, [plan], free=free, zone=UTC, today=days[-1].day).comparison
    phase = (np.arange(len(days)) >= n).astype(float)
    theirs = glm([np.ones(len(days)), phase], days)
    assert compared.ratio.value == pytest.approx(math.exp(theirs.params[1]), rel=1e-7)
    assert [compared.before.exposure, compared.after.exposure] == pytest.approx(
        [sum(d.hours for d in days[:n]), sum(d.hours for d in days[n:])]
    )
    # Exact given the sum: SciPy's Clopper and Pearson limits of the later share, as a ratio of rates.
    share = binomtest(compared.after.n, compared.after.n + compared.before.n).proportion_ci(method="exact")
    low, high = (p / (1 - p) * compared.before.exposure / compared.after.exposure for p in share)
    exact = widened(Interval(compared.ratio.value, low, high), compared.unevenness)
    assert (compared.ratio.low, compared.ratio.high) == pytest.approx((exact.low, exact.high))
    rates = [[d.n / d.hours for d in part] for part in (days[:n], days[n:])]
    assert compared.effect.nap == pytest.approx(mannwhitneyu(rates[0], rates[1]).statistic / (n * (len(days) - n)))


def test_unevenness_is_pearsons_over_its_degrees_of_freedom():
    rng = np.random.default_rng(8)
    hours = rng.uniform(3.0, 12.0, 24)
    days = days_of(rng.poisson(0.5 * hours * rng.gamma(1.0, 1.0, 24)), hours)
    theirs = glm([np.ones(24), np.arange(24) >= 10], days)
    assert chi2.sf(theirs.pearson_chi2, theirs.df_resid) < 0.05
    assert unevenness([days[:10], days[10:]]) == pytest.approx(theirs.pearson_chi2 / theirs.df_resid, rel=1e-6)
    assert compare(days[:10], days[10:]).unevenness == pytest.approx(theirs.pearson_chi2 / theirs.df_resid, rel=1e-6)


def test_days_that_chance_explains_are_not_uneven():
    days, n = drawn()
    assert unevenness([days[:n], days[n:]]) == 1.0
    assert widened(Interval(0.5, 0.25, 1.0), 4.0) == Interval(0.5, 0.125, 2.0)


@pytest.mark.parametrize(("n", "t", "m", "u"), [(5, 20.0, 8, 90.0), (0, 3.0, 4, 9.0), (7, 30.0, 0, 60.0)])
def test_chance_of_a_rise_is_scipys_binomial_tail(n, t, m, u):
    theirs = binomtest(n, n + m, t / (t + u), alternative="greater").pvalue
    assert p_at_least(Tally(n, t), Tally(m, u)) == pytest.approx(theirs)
