"""Tallies of trials by dog and cell, from columns: all that pooling needs, and all that a dog leaves behind for it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput

Column = NDArray[Any]
Counts = NDArray[np.int64]

CHUNK = 1 << 19
"""Rows that are counted at once: their keys stay in the cache."""


@dataclass(frozen=True)
class Tallies:
    """Trials met and missed, one row a dog and one column a cell (a step of a behaviour)."""

    n_met: Counts
    n_missed: Counts


def counts_of(dog: Column, cell: Column, met: Column, *, n_dogs: int, n_cells: int) -> Tallies:
    """Return the tallies of trials given as three columns of whole numbers, in any order.

    dog in 0 … n_dogs - 1, cell in 0 … n_cells - 1, met 0 or 1. A pass over pieces that stay in the cache; columns may
    be memory-mapped. Raises: InvalidInput for columns that do not fit each other or these ranges.
    """
    if not len(dog) == len(cell) == len(met):
        raise InvalidInput.of(
            "columns",
            "The columns have {a}, {b} and {c} rows; give as many of each.",
            a=len(dog),
            b=len(cell),
            c=len(met),
        )
    counts = np.zeros(n_dogs * n_cells * 2, dtype=np.int64)
    for start in range(0, len(dog), CHUNK):
        piece = slice(start, start + CHUNK)
        _count(counts, np.asarray(dog[piece]), np.asarray(cell[piece]), np.asarray(met[piece]), n_dogs, n_cells)
    shaped = counts.reshape(n_dogs, n_cells, 2)
    return Tallies(shaped[..., 1], shaped[..., 0])


def _count(counts: Counts, dog: Column, cell: Column, met: Column, n_dogs: int, n_cells: int) -> None:
    ends = [(int(column.min()), int(column.max())) for column in (dog, cell, met)]
    for (low, high), n, name in zip(ends, (n_dogs, n_cells, 2), ("dog", "cell", "met"), strict=True):
        if low < 0 or high >= n:
            raise InvalidInput.of(
                name,
                "Column “{name}” goes from {low} to {high}; give 0 to {most}.",
                name=name,
                low=low,
                high=high,
                most=n - 1,
            )
    first, last = ends[0]  # rows that lie dog by dog touch only a few dogs' counts a piece
    key = dog.astype(np.int64)
    key -= first
    key *= n_cells
    key += cell
    key *= 2
    key += met
    width = n_cells * 2
    counts[first * width : (last + 1) * width] += np.bincount(key, minlength=(last + 1 - first) * width)
