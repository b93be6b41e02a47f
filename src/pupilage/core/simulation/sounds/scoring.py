"""How well found events match true ones: one to one, nearest first, within a tolerance."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Matched:
    """Counts of one comparison, and the time errors of the pairs (found − true, seconds)."""

    n_right: int
    n_found: int
    n_true: int
    errors_s: tuple[float, ...] = ()

    @property
    def precision(self) -> float:
        """Share of the found that are right; 1 when nothing was found."""
        return self.n_right / self.n_found if self.n_found else 1.0

    @property
    def recall(self) -> float:
        """Share of the true that were found; 1 when there was nothing to find."""
        return self.n_right / self.n_true if self.n_true else 1.0

    @property
    def f1(self) -> float:
        """Harmonic mean of the two: `2·right / (found + true)`."""
        return 2 * self.n_right / (self.n_found + self.n_true) if self.n_found + self.n_true else 1.0

    def __add__(self, other: "Matched") -> "Matched":
        return Matched(
            self.n_right + other.n_right,
            self.n_found + other.n_found,
            self.n_true + other.n_true,
            self.errors_s + other.errors_s,
        )

    def error_ms(self, share: float) -> float:
        """Return the absolute time error that this share of the pairs stays within, in ms (NaN without pairs)."""
        return float(1000 * np.quantile(np.abs(self.errors_s), share)) if self.errors_s else float("nan")


def match(found_s: Sequence[float], true_s: Sequence[float], tolerance_s: float) -> Matched:
    """Return how many starts pair up, nearest pairs first, each used once."""
    if not len(found_s) or not len(true_s):
        return Matched(0, len(found_s), len(true_s))
    gaps = np.abs(np.subtract.outer(np.asarray(found_s), np.asarray(true_s)))
    found_left, true_left, errors = set(range(len(found_s))), set(range(len(true_s))), []
    near = np.argwhere(gaps <= tolerance_s)
    for i, j in near[np.argsort(gaps[tuple(near.T)], kind="stable")]:
        if i in found_left and j in true_left:
            found_left.remove(i)
            true_left.remove(j)
            errors.append(float(found_s[i] - true_s[j]))
    return Matched(len(errors), len(found_s), len(true_s), tuple(errors))
