"""The curve and the comparison of a time-alone page by lifelines; run with .venv-checks. Prints JSON."""

import json
import sys

import numpy as np
from lifelines import KaplanMeierFitter
from lifelines.statistics import logrank_test

SECONDS, CAME, LATER = (np.array(json.loads(one)) for one in sys.argv[1:4])
CAME, LATER = CAME.astype(bool), LATER.astype(bool)

fit = KaplanMeierFitter(alpha=0.05).fit(SECONDS, CAME)
limits = fit.confidence_interval_
happened = fit.event_table["observed"] > 0
compared = logrank_test(SECONDS[~LATER], SECONDS[LATER], CAME[~LATER], CAME[LATER])
told = {
    "times": fit.event_table.index[happened].tolist(),
    "share": fit.survival_function_["KM_estimate"][happened].tolist(),
    "low": limits.iloc[:, 0][happened].tolist(),
    "high": limits.iloc[:, 1][happened].tolist(),
    "p": float(compared.p_value),
}
print(json.dumps(told))
