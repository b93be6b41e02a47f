"""Multinomial logistic regression, fitted by L-BFGS."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import logsumexp

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Softmax:
    """Weights (n_numbers, n_classes) and biases (n_classes,) on rows as they are given."""

    weights: Array
    biases: Array

    def log_p(self, rows: Array) -> Array:
        """Return the logarithm of each class's probability (n, n_classes)."""
        z = rows @ self.weights + self.biases
        return np.asarray(z - logsumexp(z, axis=1, keepdims=True), np.float32)


def fit_softmax(
    rows: Array,
    classes: NDArray[np.int64],
    row_weights: Array,
    *,
    n_classes: int,
    penalty: float,
    n_steps: int = 120,
    told: Callable[[float], None] | None = None,
) -> Softmax:
    """Return the weights that fit the classes best.

    Model: p(c | x) = exp(w_c·x + b_c) / sum over classes; minimised is the weighted mean of -log p plus
    penalty/2 · |w|² on rows of mean 0 and spread 1; biases are free.
    Parameters: rows (n, n_numbers); classes (n,) from 0; row_weights (n,) above 0; told takes the share of the steps
    that is done, and may raise to end it.
    Source: Bishop, 2006, Pattern Recognition and Machine Learning, eq. 4.104 to 4.109, from memory.
    Outside check (scikit-learn) in tests/external/test_word_softmax.py.
    """
    middle, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-3
    x = ((rows - middle) / spread).astype(np.float32)
    n, n_numbers = x.shape
    shares = (row_weights / row_weights.sum()).astype(np.float32)
    truth, places = np.zeros((n, n_classes), np.float32), np.arange(n)
    truth[places, classes] = 1.0

    def loss(flat: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        table = flat.reshape(n_numbers + 1, n_classes).astype(np.float32)
        z = x @ table[:-1] + table[-1]
        z -= z.max(axis=1, keepdims=True)
        raised = np.exp(z)
        total = raised.sum(axis=1, keepdims=True)
        apart = (raised / total - truth) * shares[:, None]
        slope = np.concatenate([x.T @ apart + penalty * table[:-1], apart.sum(axis=0)[None]])
        misfit = float(shares @ (np.log(total[:, 0]) - z[places, classes]))
        value = misfit + 0.5 * penalty * float(np.sum(table[:-1] ** 2))
        return value, slope.ravel().astype(np.float64)

    n_done = 0

    def step(xk: Any) -> None:
        nonlocal n_done
        n_done += 1
        if told is not None:
            told(min(n_done / n_steps, 1.0))

    start = np.zeros((n_numbers + 1) * n_classes)
    found = minimize(
        loss, start, jac=True, method="L-BFGS-B", callback=step, options={"maxiter": n_steps, "maxcor": 10}
    )
    table = found.x.reshape(n_numbers + 1, n_classes)
    weights = table[:-1] / spread[:, None]
    return Softmax(weights.astype(np.float32), (table[-1] - middle @ weights).astype(np.float32))
