"""Survival fits by lifelines and scikit-survival; run with .venv-checks. Prints JSON."""

import json
import sys

import numpy as np
from lifelines import PiecewiseExponentialFitter, WeibullFitter
from sksurv.nonparametric import kaplan_meier_estimator, nelson_aalen_estimator

TIMES = np.array([float(one) for one in sys.argv[1].split(",")])
CAME = np.array([one == "1" for one in sys.argv[2].split(",")])
CUTS = [45.0, 60.0, 90.0]


def at(times: np.ndarray, values: np.ndarray, minute: float) -> float:
    """Return a step function's value at a minute."""
    return float(values[times <= minute][-1])


off_the_cuts = np.where(np.isin(TIMES, CUTS), TIMES + 1.0, TIMES)
piecewise = PiecewiseExponentialFitter(CUTS).fit(off_the_cuts, CAME)
weibull = WeibullFitter().fit(TIMES, CAME)
told = {
    "piecewise": [1.0 / float(piecewise.summary["coef"].iloc[place]) for place in range(len(CUTS) + 1)],
    "cumulative": [at(*nelson_aalen_estimator(CAME, TIMES), minute) for minute in (60.0, 90.0)],
    "kaplan_meier": [at(*kaplan_meier_estimator(CAME, TIMES), minute) for minute in (60.0, 75.0, 90.0)],
    "weibull": [float(weibull.lambda_), float(weibull.rho_)],
}
print(json.dumps(told))
