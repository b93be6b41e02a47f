"""Latencies on the log scale, against scipy.stats and against quadrature of the likelihood.

Sources: the conjugate normal model with unknown mean and variance (Gelman et al., Bayesian Data Analysis, 3rd ed.
2013, section 3.3; from memory), whose marginals are Student's t (scipy.stats.t); scipy.integrate for censored times.
"""

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson, simpson
from scipy.stats import invgamma, norm, t

from pupilage.core.training.rewards.latencies import (
    NEWEST,
    PRIOR_MEAN,
    PRIOR_SCALE,
    PRIOR_SHAPE,
    PRIOR_TRIALS,
    Times,
    believe_log_times,
    chance_slower,
    expect_latency,
)

TAKEN = (0.9, 1.4, 0.7, 2.2, 1.1, 1.0, 1.8, 0.8)
CENSORED = (2.0, 2.0, 3.0)


def posterior(latencies_s):
    """Return (mean, trials, shape, scale), written out term by term."""
    x = np.log(latencies_s)
    trials = PRIOR_TRIALS + len(x)
    mean = (PRIOR_TRIALS * PRIOR_MEAN + x.sum()) / trials
    scale = PRIOR_SCALE + 0.5 * (PRIOR_TRIALS * PRIOR_MEAN**2 + (x**2).sum() - trials * mean**2)
    return mean, trials, PRIOR_SHAPE + len(x) / 2, scale


@pytest.mark.parametrize("q", [0.05, 0.5, 0.9])
def test_mean_and_next_are_students_t(q):
    mean, trials, shape, scale = posterior(TAKEN)
    belief = believe_log_times(TAKEN)
    of_mean = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape / trials))
    of_next = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape * (1 + 1 / trials)))
    assert belief.mean_quantile(q) == pytest.approx(of_mean.ppf(q), rel=1e-9, abs=1e-12)
    assert belief.next_quantile(q) == pytest.approx(of_next.ppf(q), rel=1e-9, abs=1e-12)


def test_chance_of_being_slower_is_the_predictive_students_t():
    newest = (1.6, 2.0, 1.2, 1.9, 1.5)
    mean, trials, shape, scale = posterior(TAKEN)
    reference = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape * (1 / len(newest) + 1 / trials)))
    assert chance_slower([*TAKEN, *newest]) == pytest.approx(reference.cdf(np.log(newest).mean()), rel=1e-12)


def test_steady_dog_gives_a_uniform_share():
    """Exact under the prior itself: mean and spread drawn from it, the rank of the newest five is uniform.

    2,000 draws: each tenth holds 200, standard error 13; five of them are allowed.
    """
    rng = np.random.default_rng(11)
    variance = invgamma(PRIOR_SHAPE, scale=PRIOR_SCALE).rvs(2000, random_state=rng)
    means = rng.normal(PRIOR_MEAN, np.sqrt(variance / PRIOR_TRIALS))
    shares = [
        chance_slower(np.exp(rng.normal(m, np.sqrt(v), 12 + NEWEST)).tolist())
        for m, v in zip(means, variance, strict=True)
        if abs(m) < 100
    ]
    counts, _ = np.histogram(shares, bins=10, range=(0, 1))
    assert np.abs(counts - len(shares) / 10).max() < 5 * 13.4


def test_censored_times_agree_with_quadrature_of_the_likelihood():
    """Simpson's rule over mean and variance (not the log spread that the grid uses), to 1e-6."""
    mean, trials, shape, scale = posterior(TAKEN)
    m, v = np.linspace(-1.5, 3.5, 801)[:, None], np.linspace(0.02, 6.0, 1201)
    weight = invgamma(shape, scale=scale).pdf(v) * norm(mean, np.sqrt(v / trials)).pdf(m)
    for c in CENSORED:
        weight = weight * norm.sf(np.log(c), m, np.sqrt(v))

    def integral(values):
        return simpson(simpson(values, x=v, axis=1), x=m[:, 0])

    total = integral(weight)
    belief = believe_log_times(TAKEN, CENSORED)
    assert belief.mean_quantile(0.5) > believe_log_times(TAKEN).mean_quantile(0.5)
    of_mean = cumulative_simpson(simpson(weight, x=v, axis=1), x=m[:, 0], initial=0.0) / total
    for q in (0.05, 0.5, 0.95):
        assert np.interp(belief.mean_quantile(q), m[:, 0], of_mean) == pytest.approx(q, abs=2e-3)
        below = integral(norm.cdf(belief.next_quantile(q), m, np.sqrt(v)) * weight) / total
        assert below == pytest.approx(q, abs=2e-3)  # the grid's step is a tenth of the posterior's sd


def test_figures_of_a_latency_are_the_quantiles_that_are_named():
    mean, trials, shape, scale = posterior(TAKEN)
    of_mean = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape / trials))
    of_next = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape * (1 + 1 / trials)))
    found = expect_latency(Times(TAKEN))
    shown = found.low_s, found.typical_s, found.high_s, found.next_low_s, found.next_high_s
    expected = [*of_mean.ppf([0.05, 0.5, 0.95]), *of_next.ppf([0.05, 0.95])]
    assert shown == pytest.approx(np.exp(expected), rel=1e-9)


def test_censored_time_that_rules_nothing_out_leaves_students_t():
    """A start that took longer than a millisecond: the grid has to find the closed form again.

    The next time's quantile is a sum over a grid that closes in on the posterior, good to 1e-4 of its own spread.
    """
    few = (1.4, 0.6, 1.9)
    mean, trials, shape, scale = posterior(few)
    spread = np.sqrt(scale / shape * (1 + 1 / trials))
    of_next = t(2 * shape, loc=mean, scale=spread)
    of_mean = t(2 * shape, loc=mean, scale=np.sqrt(scale / shape / trials))
    belief = believe_log_times(few, (1e-9,))
    for q in (0.05, 0.3, 0.5, 0.7, 0.95):
        assert belief.next_quantile(q) == pytest.approx(of_next.ppf(q), abs=1e-3 * spread)
        assert of_mean.cdf(belief.mean_quantile(q)) == pytest.approx(q, abs=2e-3)


def test_one_second_typical_is_found_again_from_censored_tries():
    """400 log-normal starts, median 1 s, sd of the log 0.5, allowed 1.5 s: the censored model finds 1 s again.

    Standard error of the mean log about 0.5 / sqrt(400) = 0.025, a little more for the censoring; four are allowed.
    """
    starts = np.random.default_rng(3).lognormal(0.0, 0.5, 400)
    times = Times(tuple(starts[starts <= 1.5].tolist()), (1.5,) * int((starts > 1.5).sum()))
    found = expect_latency(times)
    assert np.log(found.typical_s) == pytest.approx(0.0, abs=0.11)
    naive = expect_latency(Times(times.latencies_s))
    assert naive.typical_s < 0.9
