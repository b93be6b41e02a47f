"""How mass moves on an even grid without being smeared: each point is spread over four neighbours by a cubic law.

Linear spreading over two neighbours adds up to a quarter of a squared grid step of variance at every move, which makes
a posterior too wide after sixty moves. The cubic law of Lagrange keeps the first three moments; a weight may be
slightly below zero, which is harmless where what is averaged is smooth over a few grid steps (here it is smooth over
a logit, five steps). Source (from memory): Abramowitz and Stegun, 1964, 25.2.13.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Small = NDArray[np.float32]
Reals = NDArray[np.floating[Any]]


def cubic_weights(part: Reals) -> Reals:
    """Return the weights (…, 4) of the grid points −1, 0, 1, 2 for points at `part` of a step beyond point 0."""
    before, after, second = part + 1.0, part - 1.0, part - 2.0
    weights = (
        -part * after * second / 6.0,
        before * after * second / 2.0,
        -before * part * second / 2.0,
        before * part * after / 6.0,
    )
    return np.stack(weights, axis=-1)


def spread(grid: Reals, points: Reals) -> Small:
    """Return matrices (…, from, to) that carry the mass of each grid point to where `points` (…, from) say."""
    step = (grid[-1] - grid[0]) / (len(grid) - 1)
    place = np.clip((points - grid[0]) / step, 0.0, len(grid) - 1.0)
    low = np.clip(place.astype(np.int64), 1, len(grid) - 3)
    weights = cubic_weights((place - low).astype(np.float32)).reshape(-1, 4)
    first = np.arange(low.size) * len(grid) + low.ravel() - 1
    flat = np.zeros(low.size * len(grid), dtype=np.float32)
    for corner in range(4):
        flat[first + corner] = weights[:, corner]
    return flat.reshape(*points.shape, len(grid))
