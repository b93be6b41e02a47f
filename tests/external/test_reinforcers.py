"""The reinforcers' shifts against other people's fits of the same model, and against the truth in simulation.

Sources: statsmodels GLM with an offset (no prior), scipy.optimize on the penalised likelihood (the mode and its
curvature), scipy.integrate for one reinforcer alone; versions as in requirements-dev.lock.
"""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.integrate import quad
from scipy.optimize import minimize
from scipy.special import expit, logit
from scipy.stats import binom, norm

from pupilage.core.training.rewards.reinforcers import (
    SD_BAND,
    SD_BEHAVIOUR,
    SD_COMMON,
    SD_REINFORCER,
    SD_SESSION,
    Band,
    Tries,
    _design,
    compare_reinforcers,
    fit_mode,
)

NAMES = ("dry food", "cheese", "tug")


def draw(rng, *, shifts, n_sessions=24, n=10, common=0.0, sd_behaviour=0.0):
    """Return tries of sessions in turn, each at an easy and at a difficult step; shifts[name] = (easy, difficult)."""
    found, errors = [], common + rng.normal(0.0, sd_behaviour, 4)
    for i in range(n_sessions):
        name = NAMES[i % len(shifts)]
        day = errors[i % 4] + rng.normal(0.0, SD_SESSION)
        for p, shift in zip((0.88, 0.62), shifts[name], strict=True):
            chance = expit(logit(p) + shift + day)
            found.append(Tries(name, f"b{i % 4}", f"s{i}", p, int(rng.binomial(n, chance)), n))
    return found


PLAIN = {"dry food": (0.0, 0.0), "cheese": (0.3, 0.8), "tug": (-0.5, -0.2)}


def arrays(tries):
    offset = logit([one.p for one in tries])
    return offset, np.array([one.n_met for one in tries], float), np.array([one.n for one in tries], float)


def test_without_a_prior_the_fit_is_statsmodels_glm_with_an_offset():
    tries = draw(np.random.default_rng(1), shifts=PLAIN)
    offset, n_met, n = arrays(tries)
    design = np.array([[one.reinforcer == name for name in NAMES] for one in tries], float)
    reference = sm.GLM(np.column_stack((n_met, n - n_met)), design, family=sm.families.Binomial(), offset=offset).fit()
    mode, covariance = fit_mode(design, offset=offset, n_met=n_met, n=n, precision=np.full(3, 1e-12))
    assert mode == pytest.approx(reference.params, rel=1e-6)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(reference.bse, rel=1e-6)


def test_mode_and_curvature_are_those_of_the_penalised_likelihood():
    tries = draw(np.random.default_rng(2), shifts=PLAIN)
    offset, n_met, n = arrays(tries)
    design, precision = _design(tries, list(NAMES))
    sds = [SD_COMMON, *[SD_REINFORCER] * 3, *[SD_BAND] * 6, *[SD_BEHAVIOUR] * 4, *[SD_SESSION] * 24]
    assert 1 / np.sqrt(precision) == pytest.approx(sds)

    def loss(b):
        return -binom(n, expit(offset + design @ b)).logpmf(n_met).sum() - norm(0, sds).logpdf(b).sum()

    reference = minimize(loss, np.zeros(len(sds)), method="BFGS", options={"gtol": 1e-5})
    mode, covariance = fit_mode(design, offset=offset, n_met=n_met, n=n, precision=precision)
    assert loss(mode) <= reference.fun + 1e-9
    assert mode == pytest.approx(reference.x, abs=1e-3)
    h = 1e-3
    for i in (0, 1, 5, 12):
        e = np.eye(len(sds))[i] * h
        curvature = (loss(mode + e) - 2 * loss(mode) + loss(mode - e)) / h**2
        assert np.linalg.inv(covariance)[i, i] == pytest.approx(curvature, rel=1e-3)


def test_laplace_is_near_the_exact_posterior_of_one_shift():
    """30 tries, 18 met, 0.75 expected, prior N(0, 0.5): by quadrature, to a hundredth of a logit."""

    def density(b):
        return binom(30, expit(logit(0.75) + b)).pmf(18) * norm(0, 0.5).pdf(b)

    total = quad(density, -4, 4)[0]
    mean = quad(lambda b: b * density(b), -4, 4)[0] / total
    sd = np.sqrt(quad(lambda b: (b - mean) ** 2 * density(b), -4, 4)[0] / total)
    mode, covariance = fit_mode(
        np.ones((1, 1)), offset=logit([0.75]), n_met=np.array([18.0]), n=np.array([30.0]), precision=np.array([4.0])
    )
    assert mode[0] == pytest.approx(mean, abs=0.02)
    assert np.sqrt(covariance[0, 0]) == pytest.approx(sd, abs=0.01)


def test_ninety_per_cent_intervals_hold_the_truth_and_the_chance_of_being_better_is_calibrated():
    """400 dogs drawn from the prior. Shares of 400 x 6 shifts; the six of a dog hang together, so the standard error
    is taken from 400: 1.5 %. The chance of being better is compared in two halves with what came true (2.5 %)."""
    rng = np.random.default_rng(7)
    inside, said, true = [], [], []
    for _ in range(400):
        common = rng.normal(0, SD_COMMON)
        own = {name: rng.normal(0, SD_REINFORCER) for name in NAMES}
        shifts = {name: tuple(own[name] + rng.normal(0, SD_BAND, 2)) for name in NAMES}
        tries = draw(rng, shifts=shifts, n_sessions=30, common=common, sd_behaviour=SD_BEHAVIOUR)
        found = compare_reinforcers(tries)
        for name in NAMES:
            for band, truth in zip(Band, shifts[name], strict=True):
                shift = found.of(name, band)
                inside.append(shift.low <= truth <= shift.high)
                if shift.p_better is not None:
                    said.append(shift.p_better)
                    true.append(truth > shifts[found.usual][list(Band).index(band)])
    assert np.mean(inside) == pytest.approx(0.9, abs=0.045)
    said, true = np.array(said), np.array(true)
    for half in (said < 0.5, said >= 0.5):
        assert said[half].mean() == pytest.approx(true[half].mean(), abs=0.075)


def test_no_difference_is_hardly_ever_called_one():
    """300 dogs whose reinforcers are alike: 0.8 sure of either side in some, 0.95 sure in at most 5 % and its error."""
    rng = np.random.default_rng(9)
    sure = []
    for _ in range(300):
        found = compare_reinforcers(draw(rng, shifts=dict.fromkeys(NAMES, (0.0, 0.0)), n_sessions=30))
        sure += [found.of(name).p_better >= 0.95 for name in found.names[1:]]
    assert np.mean(sure) <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 600)


def test_reinforcer_used_for_one_more_behaviour_is_not_blamed_for_that_behaviour():
    """300 dogs with alike reinforcers; cheese mostly for a behaviour whose expectation is 0.5 logits too high.

    0.95 sure that it is worse in at most one of ten; without the behaviour's own term in two of three."""
    rng = np.random.default_rng(12)
    blamed, naive = [], []
    for _ in range(300):
        tries = []
        for i in range(30):
            alone = i % 3 == 0
            chance = expit(logit(0.7) + rng.normal(0, SD_SESSION) - 0.5 * alone)
            name = "cheese" if alone or i % 10 == 1 else "dry food"
            tries.append(
                Tries(name, "recall" if alone else f"b{i % 2}", f"s{i}", 0.7, int(rng.binomial(12, chance)), 12)
            )
        blamed.append(compare_reinforcers(tries).of("cheese").p_better <= 0.05)
        merged = [replace(one, behaviour="all") for one in tries]
        naive.append(compare_reinforcers(merged).of("cheese").p_better <= 0.05)
    assert np.mean(blamed) <= 0.1
    assert np.mean(naive) >= 2 * np.mean(blamed)
