"""Chances of words that were looked at, beside scikit-learn run in .venv-checks, and a case by hand.

Barlow, Bartholomew, Bremner & Brunk (1972), Statistical Inference under Order Restrictions: pooling of adjacent
violators, from memory.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from pupilage.cli.checks_environment import ask
from pupilage.core.recordings.words.calibration import rising_chances

BESIDE = Path(__file__).resolve().parent.parent / "beside"


@pytest.mark.usefixtures("other_programs")
def test_chances_are_those_of_scikit_learn():
    rng = np.random.default_rng(6)
    confidences = rng.uniform(0.05, 1.0, 400).round(2)  # with ties
    right = rng.random(400) < confidences**2
    asked = np.linspace(0.0, 1.0, 41)
    places, chances, _ = rising_chances(confidences.tolist(), right.tolist())
    theirs = ask(
        BESIDE / "isotonic_fits.py",
        json.dumps(confidences.tolist()),
        json.dumps(right.astype(int).tolist()),
        json.dumps(asked.tolist()),
    )
    assert np.interp(asked, places, chances).tolist() == pytest.approx(theirs, abs=1e-9)


def test_neighbours_that_fall_are_pooled():
    # By hand: 0, 1, 0, 1 in order of confidence; the middle two fall and become their mean.
    places, chances, counts = rising_chances([0.8, 0.2, 0.4, 0.6], [True, False, True, False])
    assert places.tolist() == [0.2, 0.4, 0.6, 0.8]
    assert chances.tolist() == [0.0, 0.5, 0.5, 1.0]
    assert counts.tolist() == [1.0, 1.0, 1.0, 1.0]
