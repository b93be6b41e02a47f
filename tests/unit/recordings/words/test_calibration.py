"""Confidences become chances only after enough was looked at, rising, and never certain."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.words.calibration import fit_calibration


def test_with_49_rejected_there_is_no_calibration_yet():
    confidences = np.linspace(0.1, 0.9, 149).tolist()
    assert fit_calibration(confidences, [False] * 49 + [True] * 100) is None
    assert fit_calibration([*confidences, 0.1], [False] * 49 + [True] * 100 + [False]) is not None


def test_chances_rise_and_are_never_certain():
    calibration = fit_calibration([0.2] * 50 + [0.9] * 50, [False] * 50 + [True] * 50)
    assert calibration is not None
    assert calibration.chance(0.2) == pytest.approx(1 / 52)
    assert calibration.chance(0.0) == pytest.approx(1 / 52)
    assert calibration.chance(0.9) == pytest.approx(51 / 52)
    assert calibration.chance(0.55) == pytest.approx(0.5)


def test_confidence_that_says_nothing_becomes_the_share_that_was_right():
    confidences = np.random.default_rng(1).permutation(np.repeat([0.3, 0.6], 100)).tolist()
    by_place = {0.3: 0, 0.6: 0}
    right = []
    for one in confidences:
        right.append(by_place[one] < (60 if one == 0.3 else 40))
        by_place[one] += 1
    calibration = fit_calibration(confidences, right)
    assert calibration is not None
    assert calibration.chance(0.3) == calibration.chance(0.6) == pytest.approx(0.5)


def test_lists_of_unequal_length_are_refused():
    with pytest.raises(InvalidInput, match="as many of both"):
        fit_calibration([0.5], [True, False])
