"""The normal law that pooling fits over earlier dogs, on published records of other things than dogs.

The fit knows only how likely each unit's record is at every point of an axis. Here the units are hospitals and
schools, and the axis of the log learning rate stands for a hospital's logit of mortality or a school's effect.
Data, from memory and confirmed by the published fits beside them: surgical deaths of infants (Spiegelhalter et al.,
BUGS examples, volume 1, "Surgical"), coaching in eight schools (Rubin, 1981, J. Educ. Stat. 6:377-401).
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import gammaln, log_expit
from scipy.stats import norm, truncnorm

from pupilage.core.training.pooling.dog_summary import Earlier
from pupilage.core.training.pooling.prior_shape import SHIPPED
from pupilage.core.training.pooling.shape_fit import log_evidence, pooled_shape
from pupilage.core.training.posterior.prior import HALF_LIFE_GRID, MODELS, Prior

DEATHS = np.array([0, 18, 8, 46, 8, 13, 9, 31, 14, 8, 29, 24])
OPERATIONS = np.array([47, 148, 119, 810, 211, 196, 148, 215, 207, 97, 256, 360])
EFFECTS = np.array([28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0])
ERRORS = np.array([15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0])

LOGITS = np.linspace(-5.5, 0.5, 241)
TENTHS = np.linspace(-6.0, 6.0, 301)
"""Effects of schools in tens of points."""


def laid_out(log_likelihood: np.ndarray, axis: np.ndarray) -> Earlier:
    """Return units (N, points of the axis) as dogs with one behaviour: their records speak of the rate alone."""
    n_lives, n_points = len(HALF_LIFE_GRID), len(axis)
    even_lives, even_points = np.full(n_lives, 1.0 / n_lives), np.full(n_points, 1.0 / n_points)
    one, kinds = np.ones(1), np.full(len(MODELS), 1.0 / len(MODELS))
    grid = Prior("test", np.zeros(1), one, np.exp(axis), even_points, HALF_LIFE_GRID, even_lives, kinds)
    cells = np.repeat(np.exp(log_likelihood).astype(np.float32), n_lives, axis=1)[:, None]
    no_models = np.zeros((len(cells), len(MODELS)))
    return Earlier(np.arange(len(cells)), np.repeat(cells, 4, 1), np.repeat(cells, 2, 1), no_models, grid)


def shape_of(mean: float, sd: float):
    return replace(SHIPPED, log_rate_mean=mean, log_rate_sd=sd)


def of_deaths(more: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Return the log likelihood of every hospital, with so many more operations that ended in a death; and its top."""
    top = (DEATHS[:, None] * log_expit(LOGITS) + (OPERATIONS - DEATHS)[:, None] * log_expit(-LOGITS)).max(1)
    deaths = DEATHS + more
    log_likelihood = deaths[:, None] * log_expit(LOGITS) + (OPERATIONS - DEATHS)[:, None] * log_expit(-LOGITS)
    return log_likelihood - top[:, None], top


@pytest.fixture(scope="module")
def hospitals() -> Earlier:
    return laid_out(of_deaths()[0], LOGITS)


def test_law_of_hospitals_is_the_likeliest_one(hospitals):
    found = pooled_shape(hospitals, worth_dogs=0.0)
    # Maximum likelihood by a separate program; ours stops when nothing moves by more than 1e-4 in a round.
    assert found.log_rate_mean == pytest.approx(-2.543959, abs=1e-3)
    assert found.log_rate_sd == pytest.approx(0.357698, abs=1.5e-3)


@pytest.mark.parametrize("n_points", [9, 25])
def test_one_round_on_a_record_that_rules_out_half_the_axis_gives_a_truncated_law(n_points):
    # SciPy's truncated normal law, to the last digits on a coarse axis: what lies within a cell is counted as it lies.
    mean, sd = SHIPPED.log_rate_mean, SHIPPED.log_rate_sd
    axis = mean + sd * np.linspace(-3.0, 3.0, n_points)
    edge = (axis[n_points // 3] + axis[n_points // 3 - 1]) / 2.0
    possible = np.where(axis > edge, 0.0, -np.inf)[None]
    found = pooled_shape(laid_out(possible, axis), worth_dogs=0.0, n_rounds=1)
    expected = truncnorm((edge - mean) / sd, np.inf, mean, sd)
    assert (found.log_rate_mean, found.log_rate_sd) == pytest.approx((expected.mean(), expected.std()), rel=1e-6)


def test_shipped_prior_counts_as_so_many_more_dogs():
    # One dog that surely learns by the third model, and whose rate lies in the upper half: by hand, and by SciPy.
    mean, sd, worth = SHIPPED.log_rate_mean, SHIPPED.log_rate_sd, 5.0
    axis = mean + sd * np.linspace(-3.0, 3.0, 8)
    dog = laid_out(np.where(axis > mean, 0.0, -np.inf)[None], axis)
    sure = replace(dog, log_models=np.where(np.arange(6) == 2, 0.0, -60.0)[None])
    found = pooled_shape(sure, worth_dogs=worth, n_rounds=1)
    upper = truncnorm(0.0, np.inf, mean, sd)
    new = (worth * mean + upper.mean()) / (worth + 1.0)
    square = (worth * (sd**2 + (mean - new) ** 2) + upper.var() + (upper.mean() - new) ** 2) / (worth + 1.0)
    assert (found.log_rate_mean, found.log_rate_sd) == pytest.approx((new, np.sqrt(square)), rel=1e-6)
    models = (worth * np.array(SHIPPED.models) + (np.arange(6) == 2)) / (worth + 1.0)
    assert found.models == pytest.approx(models, abs=1e-9)
    assert found.half_lives == pytest.approx(SHIPPED.half_lives, abs=1e-6)


def test_skill_that_lies_in_the_even_part_of_the_prior_says_little_of_its_bell():
    # 6 % of the prior's skills lie evenly over the axis: a dog far out belongs there, and counts for a small share.
    mean, sd, worth = SHIPPED.skill_mean, SHIPPED.skill_sd, 5.0
    axis = mean + sd * np.linspace(-4.0, 4.0, 9)
    edge = mean + 1.5 * sd
    dog = laid_out(np.zeros((1, 3)), np.arange(3.0))
    cells = np.repeat((axis > edge).astype(np.float32), 3 * len(HALF_LIFE_GRID))[None, None]
    grid = replace(dog.grid, skills=axis, skill_weights=np.full(9, 1.0 / 9.0))
    sure = replace(
        dog, grid=grid, skill=np.repeat(cells, 4, 1), log_models=np.where(np.arange(6) < 4, 0.0, -60.0)[None]
    )
    found = pooled_shape(sure, worth_dogs=worth, n_rounds=1)
    in_bell, evenly = 0.94 * norm.sf(1.5), 0.06 * (axis > edge).mean()
    share, upper = in_bell / (in_bell + evenly), truncnorm(1.5, np.inf, mean, sd)
    new = (worth * mean + share * upper.mean()) / (worth + share)
    square = (worth * (sd**2 + (mean - new) ** 2) + share * (upper.var() + (upper.mean() - new) ** 2)) / (worth + share)
    assert (found.skill_mean, found.skill_sd) == pytest.approx((new, np.sqrt(square)), rel=1e-5)


def test_likelihood_of_hospitals_is_that_of_a_separate_program(hospitals):
    choose = gammaln(OPERATIONS + 1) - gammaln(DEATHS + 1) - gammaln(OPERATIONS - DEATHS + 1)
    found = (log_evidence(hospitals, shape_of(-2.543959, 0.357698)) + of_deaths()[1] + choose).sum()
    assert found == pytest.approx(-38.655615, abs=2e-4)  # the axis has 241 points


def weights_of(log_density: np.ndarray) -> np.ndarray:
    weight = np.exp(log_density - log_density.max())
    return weight / weight.sum()


def test_posterior_of_hospitals_is_the_published_one(hospitals):
    # mu flat, sigma^2 ~ inverse gamma(0.001, 0.001), by the midpoint rule in mu and log sigma.
    mu, log_sd = (x.ravel() for x in np.meshgrid(np.linspace(-3.6, -1.5, 41), np.linspace(-4.0, 1.2, 41)))
    one_more = laid_out(of_deaths(1)[0], LOGITS)
    shapes = [shape_of(m, float(np.exp(s))) for m, s in zip(mu, log_sd, strict=True)]
    evidence = np.array([log_evidence(hospitals, shape) for shape in shapes])
    square = np.exp(2.0 * log_sd)
    weight = weights_of(evidence.sum(1) - 0.002 * log_sd - 0.001 / square)
    mean = weight @ mu
    # A separate quadrature with other bounds; the deviations' tails differ in the fourth digit.
    assert mean == pytest.approx(-2.553653, abs=2e-4)
    assert np.sqrt(weight @ (mu - mean) ** 2) == pytest.approx(0.153068, abs=5e-4)
    assert weight @ square == pytest.approx(0.187654, abs=2e-4)
    chances = weight @ np.exp(np.array([log_evidence(one_more, shape) for shape in shapes]) - evidence)
    assert chances[[0, 7]] == pytest.approx([0.053240, 0.123142], abs=2e-5)
    # Published: Mamba.jl manual, example "Surgical"; four times its printed Monte-Carlo errors, and two digits.
    assert mean == pytest.approx(-2.5507, abs=4 * 0.0032)
    assert weight @ square == pytest.approx(0.1945, abs=4 * 0.0056)
    assert chances[[0, 7]] == pytest.approx([0.05281, 0.12310], abs=1e-3)


def test_posterior_of_schools_is_that_of_the_reference_draws():
    # mu ~ N(0, 5), tau ~ half-Cauchy(5), in points; posteriordb, "eight_schools-noncentered", 10,000 reference draws:
    # mean (deviation) 4.41052 (3.30913), 3.60206 (3.19832); theta_1 6.1505. Monte-Carlo errors 0.033 and 0.032.
    log_likelihood = norm.logpdf(10.0 * TENTHS, EFFECTS[:, None], ERRORS[:, None])
    schools = laid_out(log_likelihood, TENTHS)
    first = laid_out(log_likelihood + np.log(10.0 * TENTHS + 100.0), TENTHS)
    mu, log_tau = (x.ravel() for x in np.meshgrid(np.linspace(-12.0, 20.0, 41), np.linspace(-4.0, 4.5, 61)))
    tau = np.exp(log_tau)
    shapes = [shape_of(m / 10.0, t / 10.0) for m, t in zip(mu, tau, strict=True)]
    evidence = np.array([log_evidence(schools, shape) for shape in shapes])
    log_prior = -0.5 * (mu / 5.0) ** 2 - np.log1p((tau / 5.0) ** 2) + log_tau
    weight = weights_of(evidence.sum(1) + log_prior)
    means = weight @ mu, weight @ tau
    assert means == pytest.approx((4.41052, 3.60206), abs=4 * 0.033)
    sds = [np.sqrt(weight @ (x - mean) ** 2) for x, mean in zip((mu, tau), means, strict=True)]
    assert sds == pytest.approx([3.30913, 3.19832], abs=0.13)
    theta = weight @ np.exp(np.array([log_evidence(first, shape)[0] for shape in shapes]) - evidence[:, 0]) - 100.0
    assert theta == pytest.approx(6.1505, abs=4 * 0.055)
