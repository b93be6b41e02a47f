"""Points that stand for a law: even ones for the prior, and ones near a posterior whose height is known at some."""

import numpy as np

from pupilage.core.training.posterior.learners import Floats

WIDER = 1.3
"""The normal law that points are drawn from is this much wider than the fit: its tails must not be missed."""

MOST_SHIFT = 3.0
FROM_PRIOR = 0.25
"""Share of the points that are drawn from the prior, whatever the fit says: no region is lost for good."""


def even_normals(n: int, n_dimensions: int) -> Floats:
    """Return n points (n, d), more than d, that fill a standard normal law evenly; mean 0 and covariance 1 are exact.

    Model: ranks of an additive recurrence with the generalised golden ratio, put through the normal quantile, then
    rid of what correlation is left.
    Source: Roberts, 2018, "The unreasonable effectiveness of quasirandom sequences" (from memory).
    """
    from scipy.special import ndtri

    ratio = 2.0
    for _ in range(40):
        ratio = (1.0 + ratio) ** (1.0 / (n_dimensions + 1))
    steps = ratio ** -np.arange(1, n_dimensions + 1)
    places = (0.5 + np.arange(1, n + 1)[:, None] * steps) % 1.0
    z = ndtri((places.argsort(0).argsort(0) + 0.5) / n)
    return np.asarray(np.linalg.solve(np.linalg.cholesky(z.T @ z / n), z.T).T)


def points_near(first: Floats, log_likelihood: Floats, n: int) -> tuple[Floats, Floats]:
    """Return n points (n, d) near a posterior under a standard normal prior, and the prior's mass (n,) at each.

    first, log_likelihood: points (m, d) and the log likelihood there, up to a constant. The posterior is mass times
    likelihood, added up to 1.
    Model: a quarter from the prior, the rest from a normal law fitted to the likelihoods (Laplace) and made wider;
    mass = prior / mixture of both.
    Source: Hesterberg, 1995, "Weighted average importance sampling and defensive mixture distributions" (from memory);
    checked against statsmodels in tests/external/test_thresholds.py.
    """
    mean, root = _laplace(first, log_likelihood - log_likelihood.max())
    d, n_prior = first.shape[1], round(FROM_PRIOR * n)
    z = np.concatenate((even_normals(n_prior, d), mean + even_normals(n - n_prior, d) @ root.T))
    standard = np.linalg.solve(root, (z - mean).T)
    log_prior = -0.5 * (z * z).sum(1)
    log_fit = -0.5 * (standard * standard).sum(0) - np.linalg.slogdet(root)[1]
    share = n_prior / n
    mass = 1.0 / (share + (1.0 - share) * np.exp(np.clip(log_fit - log_prior, -50.0, 50.0)))
    return z, mass / mass.sum()


def _laplace(z: Floats, log_likelihood: Floats) -> tuple[Floats, Floats]:
    """Return mean (d,) and a root (d, d) of the covariance of a normal law near the posterior of z, a bit wider.

    Model: a quadratic surface through the log likelihoods (0 at best), fitted where they are high, plus the prior.
    """
    n, d = z.shape
    pairs = [(i, j) for i in range(d) for j in range(i, d)]
    terms = np.column_stack((np.ones(n), z, *(z[:, i] * z[:, j] for i, j in pairs)))
    trust = np.exp(0.15 * np.maximum(log_likelihood, -20.0))
    ridge = 0.05 * np.eye(terms.shape[1])
    ridge[0, 0] = 0.0
    heights = np.maximum(log_likelihood, -20.0)
    fit = np.linalg.solve(terms.T @ (trust[:, None] * terms) + ridge, terms.T @ (trust * heights))
    curvature = np.zeros((d, d))
    for value, (i, j) in zip(fit[1 + d :], pairs, strict=True):
        curvature[i, j] += value
        curvature[j, i] += value
    values, vectors = np.linalg.eigh(np.eye(d) - curvature)
    values = np.clip(values, 1.0, 400.0)
    mean = np.clip(vectors @ ((vectors.T @ fit[1 : 1 + d]) / values), -MOST_SHIFT, MOST_SHIFT)
    return mean, WIDER * vectors / np.sqrt(values)
