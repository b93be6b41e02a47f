"""Isotonic regression by scikit-learn; run with .venv-checks. Prints JSON."""

import json
import sys

from sklearn.isotonic import IsotonicRegression

CONFIDENCES, RIGHT, ASKED = (json.loads(one) for one in sys.argv[1:4])
fitted = IsotonicRegression(out_of_bounds="clip").fit(CONFIDENCES, RIGHT)
print(json.dumps(fitted.predict(ASKED).tolist()))
