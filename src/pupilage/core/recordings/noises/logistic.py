"""Logistic regression over few classes, whose weights may be drawn towards those that a larger fit gave."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Logistic:
    """Weights of one model. mean, scale: of the features, shape (k,); weights: (k, c); bias: (c,).

    With one column the answer is p(yes); with c of 2 or more the classes sum to 1.
    """

    mean: Array
    scale: Array
    weights: Array
    bias: Array

    def chances(self, features: Array) -> Array:
        """Return the chance of each class, shape (n, c), or (n, 1) for yes or no.

        **Model** softmax(`(x − mean)/scale · W + b`); with one column the logistic function of it.
        """
        score = np.clip((features - self.mean) / self.scale @ self.weights + self.bias, -60, 60)
        if score.shape[1] == 1:
            return np.asarray(1 / (1 + np.exp(-score)))
        raised = np.exp(score - score.max(axis=1, keepdims=True))
        return np.asarray(raised / raised.sum(axis=1, keepdims=True))


def fit_logistic(features: Array, classes: NDArray[np.int64], *, n_classes: int, pull: float, each: Array) -> Logistic:
    """Return the model that makes the observed classes likeliest, its weights held near nought.

    features: (n, k); classes: 0..n_classes−1 (0 or 1 with n_classes = 1); pull: strength of the squared penalty per
    observation; each: how much every observation counts. Source: ridge-penalised logistic regression (le Cessie and
    van Houwelingen 1992, Applied Statistics 41:191, eq. 2); `tests/external/test_noises.py` checks it.
    """
    mean = np.average(features, axis=0, weights=each)
    scale = np.sqrt(np.average((features - mean) ** 2, axis=0, weights=each)) + 1e-6
    k = features.shape[1]
    start = Logistic(mean, scale, np.zeros((k, n_classes)), np.zeros(n_classes))
    return drawn_towards(start, features, classes, pull=pull, each=each)


def drawn_towards(
    prior: Logistic,
    features: Array,
    classes: NDArray[np.int64],
    *,
    pull: float,
    each: Array,
    bias_pull: float = 0.0,
) -> Logistic:
    """Return the model fitted to these observations, drawn towards a prior's weights (a normal law around each).

    **Model** minimise `Σ each·(−log p(class)) / Σ each + pull/2 · ‖W − W₀‖² + bias_pull/2 · ‖b − b₀‖²`.
    """
    from scipy.optimize import minimize

    x = (features - prior.mean) / prior.scale
    k, c = prior.weights.shape
    share = each / each.sum()
    wanted = classes[:, None] == (np.arange(c) if c > 1 else 1)

    def loss(flat: Array) -> tuple[float, Array]:
        weights, bias = flat[: k * c].reshape(k, c), flat[k * c :]
        score = x @ weights + bias
        if c == 1:
            cost = np.logaddexp(0, np.where(wanted, -score, score))[:, 0]
            p = 1 / (1 + np.exp(-np.clip(score, -60, 60)))
        else:
            log_sum = np.logaddexp.reduce(score, axis=1)
            cost = log_sum - score[wanted]
            p = np.exp(score - log_sum[:, None])
        away, bias_away = weights - prior.weights, bias - prior.bias
        slope = (p - wanted) * share[:, None]
        down = np.concatenate([(x.T @ slope + pull * away).ravel(), slope.sum(axis=0) + bias_pull * bias_away])
        return float(share @ cost + 0.5 * pull * np.sum(away**2) + 0.5 * bias_pull * np.sum(bias_away**2)), down

    flat = np.concatenate([prior.weights.ravel(), prior.bias])
    best = minimize(loss, flat, jac=True, method="L-BFGS-B", options={"maxiter": 500}).x
    return Logistic(prior.mean, prior.scale, best[: k * c].reshape(k, c), best[k * c :])
