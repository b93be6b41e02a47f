"""Confidences made into chances, by what a person confirmed and rejected."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from pupilage.core.errors import InvalidInput

NEEDED_OF_EACH = 50
"""With fewer confirmed, or fewer rejected, the confidence stays what the model says."""

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Calibration:
    """Chances at confidences that a person has looked at, both rising; between them on a line, beyond them level."""

    confidences: Numbers
    chances: Numbers

    def chance(self, confidence: float) -> float:
        """Return the chance that an event of that confidence is right."""
        return float(np.interp(confidence, self.confidences, self.chances))


def fit_calibration(confidences: Sequence[float], right: Sequence[bool]) -> Calibration | None:
    """Return the calibration of events that were looked at, or None with fewer than 50 of either kind.

    Model: the rising step function nearest to right (1) and wrong (0) in squares, events of one confidence counting
    together (`rising_chances`). Its ends are drawn in: with n events in the lowest step no chance is under 1/(n+2), and
    none over (n+1)/(n+2) with n in the highest, the mean after n alike from a flat start (Laplace), since nothing that
    was always right so far is certain.
    Parameters: confidences 0 to 1; right: confirmed or rejected. Raises InvalidInput for lists of unequal length.
    Source: Zadrozny & Elkan, 2002, KDD, from memory; outside check in tests/external/test_word_calibration.py.
    """
    if len(confidences) != len(right):
        raise InvalidInput.of("right", "Each confidence needs one answer; give as many of both.")
    if min(sum(right), len(right) - sum(right)) < NEEDED_OF_EACH:
        return None
    places, chances, counts = rising_chances(confidences, right)
    n_lowest = counts[chances == chances[0]].sum()
    n_highest = counts[chances == chances[-1]].sum()
    low, high = 1.0 / (n_lowest + 2.0), (n_highest + 1.0) / (n_highest + 2.0)
    return Calibration(places, np.clip(chances, low, high))


def rising_chances(confidences: Sequence[float], right: Sequence[bool]) -> tuple[Numbers, Numbers, Numbers]:
    """Return (confidences in order, chances by isotonic regression, events at each)."""
    places, which, counts = np.unique(np.asarray(confidences, float), return_inverse=True, return_counts=True)
    shares = np.bincount(which, weights=np.asarray(right, float)) / counts
    return places, np.asarray(isotonic_regression(shares, weights=counts).x), counts.astype(float)
