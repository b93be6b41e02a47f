"""Empirical Bayes of chances and rates against published analyses and quadrature.

Data, from memory and confirmed by the published sums and moments named beside them: rat tumours (Tarone, 1982; Gelman
et al., Bayesian Data Analysis, 3rd ed., table 5.1), pumps (Gaver and O'Muircheartaigh, 1987, Technometrics 29:1-15),
batting averages (Efron and Morris, 1975, J. Am. Stat. Assoc. 70:311-319).
"""

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize
from scipy.special import expit

from pupilage.core.errors import InvalidInput
from pupilage.core.training.pooling.pooled_cells import (
    Weak,
    log_likelihood_of_chances,
    log_likelihood_of_rates,
    pooled_chances,
    pooled_rates,
)
from pupilage.core.training.pooling.tallies import Tallies, counts_of

TUMOURS = np.array(
    [0] * 14 + [1] * 8 + [2] * 9 + [1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10]
    + [4] * 7 + [10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9, 4]
)  # fmt: skip
RATS = np.array(
    [20] * 7 + [19] * 4 + [18, 18, 17] + [20] * 4 + [19, 19, 18, 18] + [25, 24, 23] + [20] * 6
    + [10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50] + [20] * 7
    + [48, 19, 19, 19, 22, 46, 49, 20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24, 14]
)  # fmt: skip
PUMP_HOURS = np.array([94.3, 15.7, 62.9, 126.0, 5.24, 31.4, 1.05, 1.05, 2.1, 10.5])
FAILURES = np.array([5, 1, 5, 14, 3, 19, 1, 1, 4, 22])
HITS = np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7])

RAT_TALLIES = Tallies(TUMOURS[:, None], (RATS - TUMOURS)[:, None])


def middles(low: float, high: float, n: int) -> np.ndarray:
    return low + (np.arange(n) + 0.5) * (high - low) / n


def test_the_data_are_the_published_ones():
    assert (len(TUMOURS), TUMOURS.sum(), RATS.sum()) == (71, 267, 1739)
    raw = (TUMOURS / RATS)[:70]
    assert (raw.mean(), raw.std(ddof=1)) == pytest.approx((0.136, 0.103), abs=5e-4)  # published, section 5.1
    assert (HITS / 45.0).mean() == pytest.approx(0.265432, abs=1e-6)


def test_chances_of_rats_are_the_maximum_of_the_likelihood():
    found = pooled_chances(RAT_TALLIES, weak=None)
    # SciPy 1.17.1 betabinom.logpmf maximised by a separate program.
    assert (found.alpha[0], found.beta[0]) == pytest.approx((2.341614, 14.114803), rel=1e-6)
    by_scipy = stats.betabinom(RATS, found.alpha[0], found.beta[0]).logpmf(TUMOURS).sum()
    assert by_scipy == pytest.approx(-156.568930, abs=1e-6)


def test_likelihood_of_chances_is_that_of_scipy():
    choose = stats.betabinom(RATS, 1.0, 1.0).logpmf(TUMOURS).sum() - log_likelihood_of_chances(
        RAT_TALLIES, np.ones(1), np.ones(1)
    )
    for alpha, beta in ((2.4, 14.3), (0.3, 0.9), (40.0, 11.0)):
        ours = log_likelihood_of_chances(RAT_TALLIES, np.array([alpha]), np.array([beta]))
        expected = stats.betabinom(RATS, alpha, beta).logpmf(TUMOURS).sum()
        assert ours + choose == pytest.approx(expected, rel=1e-10)


def test_posterior_of_rats_is_the_published_one():
    # Hyperprior (alpha + beta)^(-5/2); on the published axes logit of the mean and log of alpha + beta.
    x, z = (axis.ravel() for axis in np.meshgrid(middles(-2.8, -1.0, 160), middles(0.2, 6.2, 240), indexing="ij"))
    worth, mean = np.exp(z), expit(x)
    alpha, beta = worth * mean, worth * (1.0 - mean)
    wide = Tallies(np.repeat(RAT_TALLIES.n_met, len(x), 1), np.repeat(RAT_TALLIES.n_missed, len(x), 1))
    log_density = np.empty(len(x))
    for part in np.array_split(np.arange(len(x)), 16):
        some = Tallies(wide.n_met[:, part], wide.n_missed[:, part])
        log_density[part] = log_likelihood_of_chances(some, alpha[part], beta[part])
    log_density += -2.5 * z + np.log(alpha) + np.log(beta)  # the Jacobian of these axes
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    found = weight @ alpha, weight @ beta
    assert found == pytest.approx((2.402665, 14.320030), rel=2e-4)  # separate quadrature on 160 x 160, other bounds
    assert found == pytest.approx((2.4, 14.3), abs=0.05)  # published, section 5.3
    last = weight @ ((alpha + 4.0) / (alpha + beta + 14.0))
    assert last == pytest.approx(0.210857, rel=2e-4)


def test_rates_of_pumps_are_the_maximum_of_the_likelihood():
    found = pooled_rates(FAILURES[:, None], PUMP_HOURS[:, None], weak=None)
    assert (found.shape[0], found.worth[0]) == pytest.approx((0.822965, 1.261653), rel=1e-6)
    p = found.worth[0] / (found.worth[0] + PUMP_HOURS)
    ours = log_likelihood_of_rates(FAILURES[:, None], PUMP_HOURS[:, None], found.shape, found.worth)[0]
    constant = (FAILURES * np.log(PUMP_HOURS)).sum() - sum(np.log(np.arange(1, n + 1)).sum() for n in FAILURES)
    assert ours + constant == pytest.approx(stats.nbinom(found.shape[0], p).logpmf(FAILURES).sum(), rel=1e-10)


def test_posterior_of_pumps_is_the_published_one():
    # alpha ~ Exponential(1), beta ~ Gamma(0.1, 1), each pump ~ Gamma(alpha, beta) an hour.
    u, v = (x.ravel() for x in np.meshgrid(middles(-3.5, 1.8, 150), middles(-5.5, 2.5, 150), indexing="ij"))
    alpha, beta = np.exp(u), np.exp(v)
    n, hours = np.repeat(FAILURES[:, None], len(u), 1), np.repeat(PUMP_HOURS[:, None], len(u), 1)
    log_density = log_likelihood_of_rates(n, hours, alpha, beta) - alpha + u + 0.1 * v - beta
    weight = np.exp(log_density - log_density.max())
    weight /= weight.sum()
    found = weight @ alpha, weight @ beta
    assert found == pytest.approx((0.697233, 0.926925), rel=2e-4)  # separate quadrature
    first, last = (weight @ ((alpha + FAILURES[i]) / (beta + PUMP_HOURS[i])) for i in (0, 9))
    assert (first, last) == pytest.approx((0.05982, 1.98982), rel=2e-4)
    # Published: Mamba.jl manual, example "Pumps"; four times its printed Monte-Carlo errors.
    assert found[0] == pytest.approx(0.679, abs=4 * 0.007)
    assert found[1] == pytest.approx(0.894, abs=4 * 0.018)


def test_batting_averages_are_drawn_to_their_mean_more_than_by_the_published_factor():
    y = HITS / 45.0
    within = y.mean() * (1.0 - y.mean()) / 45.0
    stein = 1.0 - 15.0 * within / ((y - y.mean()) ** 2).sum()
    assert stein == pytest.approx(0.211653, abs=1e-6)  # published 0.212: what is left of a player's own difference
    found = pooled_chances(Tallies(HITS[:, None], (45 - HITS)[:, None]), weak=None)
    assert found.mean[0] == pytest.approx(0.265432, abs=1e-3)
    # Greatest likelihood, not least risk: SciPy's Beta-binomial agrees that it is the top.
    around = [stats.betabinom(45, found.alpha[0] * f, found.beta[0] * f).logpmf(HITS).sum() for f in (0.99, 1.0, 1.01)]
    assert around[1] > max(around[0], around[2])
    assert 0.0 < 45.0 / (45.0 + found.alpha[0] + found.beta[0]) < stein


def test_cell_in_which_dogs_do_not_differ_is_held_back():
    same = Tallies(np.full((50, 1), 8), np.full((50, 1), 2))
    held = pooled_chances(same)
    assert held.mean[0] == pytest.approx(0.8, abs=0.01)
    assert 10.0 < held.alpha[0] + held.beta[0] < 2000.0  # without the hyperprior it runs beyond 1e7


def highest(log_density) -> np.ndarray:
    """Return the top (logit or log of the mean, log worth) of a density, by SciPy's simplex."""
    found = minimize(
        lambda x: -log_density(*x), [0.1, 1.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13}
    )
    return np.asarray(found.x)


def test_chances_held_by_the_weak_hyperprior_are_the_top_of_scipy_s_density():
    # Four dogs, so that the hyperprior counts: log worth ~ N(log 8, 1.5^2), logit of the mean ~ N(0, 2^2).
    met, missed = np.array([3, 1, 4, 0]), np.array([1, 3, 0, 1])
    found = pooled_chances(Tallies(met[:, None], missed[:, None]))

    def log_density(a, b):
        alpha, beta = np.exp(b) * expit(a), np.exp(b) * expit(-a)
        likelihood = stats.betabinom(met + missed, alpha, beta).logpmf(met).sum()
        return likelihood + stats.norm(0.0, 2.0).logpdf(a) + stats.norm(np.log(8.0), 1.5).logpdf(b)

    a, b = highest(log_density)
    assert found.mean[0] == pytest.approx(expit(a), rel=1e-5)
    assert found.alpha[0] + found.beta[0] == pytest.approx(np.exp(b), rel=1e-5)
    assert found.given(np.array([2]), np.array([1]))[0] == pytest.approx(
        (np.exp(b) * expit(a) + 2.0) / (np.exp(b) + 3.0), rel=1e-5
    )


def test_rates_held_by_the_weak_hyperprior_are_the_top_of_scipy_s_density():
    # Exposures in units of their mean, 2; log worth ~ N(log 4, 1.5^2), log of the mean ~ N(log(5.5 / 3), 3^2).
    n, exposure = np.array([2, 0, 3]), np.array([1.0, 2.0, 3.0])
    found = pooled_rates(n[:, None], exposure[:, None])

    def log_density(a, b):
        shape, worth = np.exp(a + b), np.exp(b)
        likelihood = stats.nbinom(shape, worth / (worth + exposure / 2.0)).logpmf(n).sum()
        return likelihood + stats.norm(np.log(5.5 / 3.0), 3.0).logpdf(a) + stats.norm(np.log(4.0), 1.5).logpdf(b)

    a, b = highest(log_density)
    assert found.shape[0] == pytest.approx(np.exp(a + b), rel=1e-5)
    assert found.worth[0] == pytest.approx(2.0 * np.exp(b), rel=1e-5)


def test_cell_that_no_dog_has_tried_is_the_hyperprior():
    empty = Tallies(np.zeros((4, 1), dtype=int), np.zeros((4, 1), dtype=int))
    found = pooled_chances(empty, weak=Weak(worth=8.0, mean=0.0))
    assert (found.alpha[0], found.beta[0]) == pytest.approx((4.0, 4.0), rel=1e-6)


def test_counts_are_those_of_a_plain_loop():
    rng = np.random.default_rng(7)
    dog, cell, met = rng.integers(0, 9, 4000), rng.integers(0, 5, 4000), rng.integers(0, 2, 4000)
    expected = np.zeros((9, 5, 2), dtype=int)
    for d, c, m in zip(dog, cell, met, strict=True):
        expected[d, c, m] += 1
    found = counts_of(dog.astype(np.uint16), cell.astype(np.uint8), met.astype(np.uint8), n_dogs=9, n_cells=5)
    assert (found.n_met == expected[..., 1]).all()
    assert (found.n_missed == expected[..., 0]).all()


@pytest.mark.parametrize(
    ("dog", "cell", "met", "match"),
    [
        ([0, 9], [0, 0], [1, 1], "dog"),
        ([0, 0], [0, -1], [1, 1], "cell"),
        ([0, 0], [0, 0], [1, 2], "met"),
        ([0], [0, 0], [1, 1], "rows"),
    ],
)
def test_columns_that_do_not_fit_are_refused(dog, cell, met, match):
    with pytest.raises(InvalidInput, match=match):
        counts_of(np.array(dog), np.array(cell), np.array(met), n_dogs=2, n_cells=1)


def test_tallies_below_0_and_exposures_of_none_are_refused():
    with pytest.raises(InvalidInput, match="0 or more"):
        pooled_chances(Tallies(np.array([[-1]]), np.array([[2]])))
    with pytest.raises(InvalidInput, match="above 0"):
        pooled_rates(np.array([[1]]), np.array([[0.0]]))
