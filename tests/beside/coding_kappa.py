"""Cohen's kappa and the share of agreement by scikit-learn; run with .venv-checks. Prints JSON."""

import json
import sys

from sklearn.metrics import accuracy_score, cohen_kappa_score

one, other = (told.split(",") for told in sys.argv[1:3])
print(json.dumps({"kappa": float(cohen_kappa_score(one, other)), "share": float(accuracy_score(one, other))}))
