"""The regression that tells words apart, beside scikit-learn's run in .venv-checks.

Bishop (2006), Pattern Recognition and Machine Learning, section 4.3.4, from memory: multinomial logistic regression.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from pupilage.cli.checks_environment import ask
from pupilage.core.recordings.words.softmax import fit_softmax

BESIDE = Path(__file__).resolve().parent.parent / "beside"


@pytest.mark.usefixtures("other_programs")
@pytest.mark.parametrize(("penalty", "within"), [(0.01, 2e-3), (0.3, 4e-4)])
def test_chances_are_those_of_scikit_learn(penalty: float, within: float):
    # Measured apart: 8e-4 and 2e-6; with the second penalty 1 % off, 2e-3.
    rng = np.random.default_rng(8)
    classes = rng.integers(0, 4, 300)
    rows = rng.standard_normal((300, 7)).round(3) * np.linspace(0.5, 4.0, 7)
    rows[np.arange(300), classes] += 1.5
    weights, asked = rng.uniform(0.5, 4.0, 300).round(3), rng.standard_normal((50, 7)).round(3) * 2.0
    given = [json.dumps(one.tolist()) for one in (rows, classes, weights, asked)]
    theirs = ask(BESIDE / "softmax_fits.py", *given, json.dumps(penalty))
    ours = fit_softmax(
        rows.astype(np.float32), classes, weights.astype(np.float32), n_classes=4, penalty=penalty, n_steps=500
    )
    np.testing.assert_allclose(np.exp(ours.log_p(asked.astype(np.float32))), theirs, atol=within)
