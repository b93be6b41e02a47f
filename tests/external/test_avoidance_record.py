"""Learning curves of a published record: prediction of every animal from the others, and posteriors by quadrature.

Record: see avoidance_record.py. Models and names of the posteriors: posteriordb (Stan project), data set "dogs", whose
"dogs_hierarchical" is in truth the pooled model; samplers: Stan 2.x through pystan 3.10.0, NumPyro 0.22.0.
"""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import minimize
from scipy.special import expit, log_expit

from avoidance_record import counts_before, shocked
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.randomwalk import Link, Walk, fit_walk, walk_through

SKILLS = np.linspace(-6.0, 6.0, 91)
OTHER_COPY = [(1, 14), (10, 16), (17, 13), (24, 7), (24, 8), (27, 12)]
"""Cells (from 0) in which the copy that ships with OpenBUGS and Mamba.jl differs."""


def log_loss(p_shock: np.ndarray, record: np.ndarray) -> float:
    """Return the mean log loss of trials 2 to 25; all animals were shocked in the first."""
    told = record[:, 1:]
    return float(-(told * np.log(p_shock) + (1.0 - told) * np.log1p(-p_shock)).mean())


def predicted_from_others(record: np.ndarray, link: Link) -> np.ndarray:
    avoided = 1.0 - record[:, 1:]
    everyone = fit_walk(avoided, Walk(-1.5, 0.3, 0.25, 0.25, link=link), one_drift=True, grid=SKILLS)
    p = np.empty_like(avoided)
    for i in range(len(avoided)):
        others = fit_walk(np.delete(avoided, i, axis=0), everyone, one_drift=True, grid=SKILLS)
        p[i] = walk_through(avoided[[i]], others, grid=SKILLS).predicted[0]
    return 1.0 - p


def test_each_animal_is_predicted_from_the_others():
    # Goal 0.382; a running mean of five 0.481, logit on the trial number 0.397, Bush and Mosteller's pooled operators
    # 0.3843, a logistic walk with drift 0.3822 by a separate program. The standard error over animals is 0.027: the
    # order of the last ones is no finding.
    assert log_loss(predicted_from_others(shocked(), Link.NORMAL), shocked()) <= 0.382


def test_running_mean_of_five_scores_as_published_models_are_compared_with():
    record = shocked()
    # (hits + 1/2) / (n + 1) of the last five outcomes, fewer at the start; by a separate program 0.4808.
    counts = [record[:, max(0, t - 5) : t] for t in range(1, 25)]
    p = np.stack([(c.sum(1) + 0.5) / (c.shape[1] + 1.0) for c in counts], axis=1)
    assert log_loss(p, record) == pytest.approx(0.4808, abs=5e-5)


def test_linear_operators_from_the_others_score_as_by_a_separate_program():
    record = shocked()
    shocks, avoided = counts_before(record)

    def p_shock(x, rows):
        return np.exp(-np.exp(x[0]) * shocks[rows, 1:] - np.exp(x[1]) * avoided[rows, 1:])

    def cost(x, rows):
        p = p_shock(x, rows)
        return -(record[rows, 1:] * np.log(p) + (1.0 - record[rows, 1:]) * np.log1p(-p)).sum()

    p = np.empty((30, 24))
    for i in range(30):
        others = np.delete(np.arange(30), i)
        p[i] = p_shock(minimize(cost, [-2.5, -1.4], args=(others,)).x, [i])[0]
    assert log_loss(p, record) == pytest.approx(0.3843, abs=1e-4)


def moments(log_density, *axes: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Return means, deviations and the log integral of a density on a full grid (midpoint rule)."""
    mesh = np.meshgrid(*axes, indexing="ij")
    log_values = log_density(*(x.ravel() for x in mesh))
    top = log_values.max()
    weight = np.exp(log_values - top)
    cell = np.prod([axis[1] - axis[0] for axis in axes])
    total = weight.sum()
    points = np.stack([x.ravel() for x in mesh])
    means = points @ weight / total
    sds = np.sqrt(((points - means[:, None]) ** 2) @ weight / total)
    return means, sds, float(top + np.log(total * cell))


def middles(low: float, high: float, n: int) -> np.ndarray:
    return low + (np.arange(n) + 0.5) * (high - low) / n


def trials_by_past(record: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return (shocks before, avoidances before, shocked, trials) of every past that occurs: all that is needed."""
    shocks, avoided = counts_before(record)
    pasts, where = np.unique((shocks * 100 + avoided).ravel(), return_inverse=True)
    n = np.bincount(where)
    return pasts // 100, pasts % 100, np.bincount(where, record.ravel()), n


def logit_likelihood(record: np.ndarray):
    s, a, hit, n = trials_by_past(record)

    def log_likelihood(b0, b_avoided, b_shocks):
        x = np.multiply.outer(b_avoided, a) + np.multiply.outer(b_shocks, s) + np.asarray(b0)[..., None]
        return log_expit(x) @ hit + log_expit(-x) @ (n - hit)

    return log_likelihood


def operator_likelihood(record: np.ndarray):
    s, a, hit, n = trials_by_past(record)
    later = (s + a) > 0  # the first trial's chance is 1

    def log_likelihood(log_kept_shock, log_kept_avoid):
        x = np.multiply.outer(log_kept_shock, s[later]) + np.multiply.outer(log_kept_avoid, a[later])
        return x @ hit[later] + np.log(-np.expm1(x)) @ (n - hit)[later]

    return log_likelihood


def test_logistic_curve_on_past_outcomes():
    record = shocked()
    shocks, avoided = counts_before(record)
    x = np.column_stack([np.ones(record.size), avoided.ravel(), shocks.ravel()])
    fit = sm.Logit(record.ravel(), x).fit(disp=0)
    assert fit.params == pytest.approx([1.78990, -0.354488, -0.209331], abs=6e-6)
    assert fit.llf == pytest.approx(-283.444582, abs=1e-6)
    assert logit_likelihood(record)(*fit.params) == pytest.approx(fit.llf, abs=1e-9)


def test_posterior_of_the_logistic_curve_is_that_of_two_samplers():
    # Model "dogs": logit p = b1 + b2 A + b3 S, b ~ N(0, 100).
    likelihood = logit_likelihood(shocked())

    def log_density(b1, b2, b3):
        return likelihood(b1, b2, b3) - 0.5 * (b1**2 + b2**2 + b3**2) / 100.0**2

    axes = middles(0.4, 3.4, 36), middles(-0.61, -0.13, 36), middles(-0.50, 0.07, 36)
    means, sds, _ = moments(log_density, *axes)
    # 5e-5 of the mean by a separate quadrature; the samplers' Monte-Carlo error is 0.001 of the first, 0.0003 beyond.
    assert means == pytest.approx([1.805837, -0.358534, -0.211010], abs=2e-5)
    assert sds == pytest.approx([0.229441, 0.037720, 0.043309], abs=2e-5)
    stan, numpyro = [1.80649, -0.35851, -0.21102], [1.80422, -0.35888, -0.21054]
    assert means == pytest.approx(stan, abs=1e-3)
    assert means == pytest.approx(numpyro, abs=2e-3)


def test_posterior_without_intercept_is_that_of_a_sampler():
    # Model "dogs_log": logit p = b1 A + b2 S, b1 < 0 < b2, flat.
    likelihood = logit_likelihood(shocked())
    means, sds, _ = moments(
        lambda b1, b2: likelihood(np.zeros(1), b1, b2), middles(-0.60, -0.15, 120), middles(0.0, 0.2, 120)
    )
    assert means == pytest.approx([-0.352883, 0.056612], abs=2e-5)
    assert sds == pytest.approx([0.037133, 0.024105], abs=2e-5)
    assert means == pytest.approx([-0.35236, 0.05638], abs=1e-3)  # Stan, 2 x 20,000 draws


def test_posterior_of_the_linear_operators_is_that_of_two_samplers():
    # Model "dogs_hierarchical" (in truth pooled): p = a^S b^A, a, b ~ U(0, 1).
    likelihood = operator_likelihood(shocked())
    axes = middles(0.86, 0.98, 240), middles(0.67, 0.88, 240)
    means, sds, log_evidence = moments(lambda a, b: likelihood(np.log(a), np.log(b)), *axes)
    assert means == pytest.approx([0.9232179, 0.7856947], abs=1e-6)
    assert sds == pytest.approx([0.0109488, 0.0190587], abs=1e-6)
    assert log_evidence == pytest.approx(-280.807572, abs=2e-6)
    assert means == pytest.approx([0.92320, 0.78568], abs=2e-4)  # Stan
    assert means == pytest.approx([0.92348, 0.78533], abs=6e-4)  # NumPyro


def test_posterior_on_the_other_copy_is_the_published_one():
    record = shocked().copy()
    for cell in OTHER_COPY:
        record[cell] = 1.0 - record[cell]
    likelihood = operator_likelihood(record)
    axes = middles(-0.16, -0.02, 200), middles(-0.40, -0.12, 200)
    (beta, alpha), _, _ = moments(likelihood, *axes)
    (b, a), (b_sd, a_sd), _ = moments(
        lambda b, a: likelihood(np.log(b), np.log(a)) - np.log(a) - np.log(b),
        middles(0.85, 0.985, 300),
        middles(0.67, 0.89, 300),
    )
    assert (a, b, alpha, beta) == pytest.approx((0.783482, 0.924157, -0.244306, -0.078943), abs=2e-6)
    assert (a_sd, b_sd) == pytest.approx((0.019114, 0.010863), abs=2e-6)
    # Published: Mamba.jl manual, example "Dogs"; four times its printed Monte-Carlo errors.
    assert a == pytest.approx(0.78358, abs=4 * 0.00035)
    assert b == pytest.approx(0.92423, abs=4 * 0.00017)


def test_curve_on_the_trial_number_is_the_published_one():
    record = shocked()
    x = np.column_stack([np.ones(record.size), np.tile(np.arange(1.0, 26.0), 30)])
    fit = sm.Logit(record.ravel(), x).fit(disp=0)
    assert fit.params == pytest.approx([2.33943, -0.293880], abs=6e-6)
    # Published: Bayesian Workflow, ch. 21: 2.37 (0.22) and -0.30 (0.02), a posterior mean, to two digits.
    assert fit.params == pytest.approx([2.37, -0.30], abs=0.04)
    assert fit.bse == pytest.approx([0.22, 0.02], abs=0.005)


def test_mastery_of_one_level_has_the_likelihood_found_elsewhere():
    # Knowledge tracing, avoided = correct: prior 0, learn 0.164832, guess 0.100128, slip 0.123629; direct maximum
    # likelihood by a separate program, log-likelihood -318.694937 (pyBKT 1.4.3 stops near it).
    avoided = 1.0 - shocked()

    def log_likelihood(learn, guess, slip):
        p = np.array([guess, 1.0 - slip])
        mastery, total = np.tile([1.0, 0.0], (30, 1)), 0.0
        for outcome in avoided.T:
            mastery = mastery * np.where(outcome[:, None] > 0.5, p, 1.0 - p)
            total += np.log(mastery.sum(1)).sum()
            mastery /= mastery.sum(1, keepdims=True)
            mastery = learners.learn_by_levels(mastery, learn / learners.BKT_LEARN, 0, 1)
        return total

    best = np.array([0.164832, 0.100128, 0.123629])
    assert log_likelihood(*best) == pytest.approx(-318.694937, abs=1e-6)
    for step in 0.01 * np.diag([1.0, 1.0, 1.0]):
        assert max(log_likelihood(*(best + step)), log_likelihood(*(best - step))) < log_likelihood(*best)


def test_chance_is_the_link_of_the_skill():
    assert Link.LOGISTIC.chance(np.array([0.0, 1.0])) == pytest.approx(expit([0.0, 1.0]))
    assert Link.NORMAL.chance(np.array([0.0, 1.0])) == pytest.approx([0.5, 0.8413447461])  # any table of the normal law
