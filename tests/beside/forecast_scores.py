"""Brier score and calibration curve by scikit-learn, medians by lifelines; run with .venv-checks. Prints JSON."""

import json
import sys

import numpy as np
from lifelines import KaplanMeierFitter
from lifelines.utils import median_survival_times
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss

CHANCES, MET, SPENT, REACHED = (json.loads(one) for one in sys.argv[1:5])
share, mean_p = calibration_curve(MET, CHANCES, n_bins=5, strategy="uniform")
fitted = KaplanMeierFitter().fit(SPENT, REACHED)
limits = median_survival_times(fitted.confidence_interval_).to_numpy().ravel()
print(
    json.dumps(
        {
            "brier": float(brier_score_loss(MET, CHANCES)),
            "share": share.tolist(),
            "mean_p": mean_p.tolist(),
            "median": float(fitted.median_survival_time_),
            "limits": [None if not np.isfinite(one) else float(one) for one in limits],
        }
    )
)
