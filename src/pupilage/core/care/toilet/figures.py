"""Elementary functions of a number for one pup or an array for many: the formulas are written once.

NumPy's own take a microsecond for a single number, and reading a long log asks for tens of thousands.
"""

import math
from typing import Any

import numpy as np

Figure = Any
"""A number for one pup, an array with the pups along its only axis for many."""


def exp(x: Figure) -> Figure:
    """Return e to the power of x, which is not above 0."""
    return np.exp(x) if isinstance(x, np.ndarray) else math.exp(x)


def log(x: Figure) -> Figure:
    """Return the logarithm of x, above 0."""
    return np.log(x) if isinstance(x, np.ndarray) else math.log(x)


def log1p(x: Figure) -> Figure:
    """Return the logarithm of 1 + x."""
    return np.log1p(x) if isinstance(x, np.ndarray) else math.log1p(x)


def larger(x: Figure, y: Figure) -> Figure:
    """Return the larger of two."""
    return np.maximum(x, y) if isinstance(x, np.ndarray) or isinstance(y, np.ndarray) else max(x, y)


def smaller(x: Figure, y: Figure) -> Figure:
    """Return the smaller of two."""
    return np.minimum(x, y) if isinstance(x, np.ndarray) or isinstance(y, np.ndarray) else min(x, y)


def beside_cells(x: Figure) -> Figure:
    """Return x with an axis more, for the cells, where it has any."""
    return x[..., None] if isinstance(x, np.ndarray) else x
