"""Knowledge tracing by pyBKT with its parameters fixed; run with .venv-checks. Prints JSON."""

import json
import sys

import numpy as np
import pandas as pd
from pyBKT.models import Model

ANSWERS = [int(answer) for answer in sys.argv[1]]


def predict(forget: float) -> dict[str, list[float]]:
    """Return the chance of each answer, and of mastery before it."""
    rows = pd.DataFrame({"user_id": 1, "skill_name": "s", "order_id": range(len(ANSWERS)), "correct": ANSWERS})
    fixed = {"prior": 0.2, "learns": np.array([0.1]), "guesses": np.array([0.2]), "slips": np.array([0.1])}
    model = Model(seed=1, num_fits=1)
    model.fit(data=rows, forgets=forget > 0.0, fixed={"s": fixed | {"forgets": np.array([forget])}})
    told = model.predict(data=rows)
    return {"chances": told["correct_predictions"].tolist(), "known": told["state_predictions"].tolist()}


print(json.dumps({str(forget): predict(forget) for forget in (0.0, 0.05)}))
