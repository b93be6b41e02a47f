"""What a season is worth: the goals met in a cold test, expected over the test's own chance and the day's form."""

import numpy as np
from scipy.special import bdtrc

from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.laws import FORMS, P_FORMS, Array, Number

NEED, TEST_TRIALS = 8, 10


def p_pass(p: Number) -> Array:
    """Return P(at least 8 of 10 met), p the chance of each. Checked against scipy.stats.binom."""
    chance: Array = bdtrc(NEED - 1, TEST_TRIALS, np.asarray(p, dtype=np.float64))
    return chance


def goal_chances(kennel: Kennel) -> Array:
    """Return the chance (N, B) that each goal is met cold today, the day's form integrated."""
    n, n_behaviours = kennel.dogs.goal.shape
    rows, columns = (x.ravel() for x in np.indices((n, n_behaviours)))
    cold = np.zeros(len(rows))
    chance = np.zeros(len(rows))
    for form, weight in zip(FORMS, P_FORMS, strict=True):
        p = kennel.p(rows, columns, kennel.dogs.goal.ravel(), form=cold + form, tired=cold)
        chance += weight * p_pass(p)
    return chance.reshape(n, n_behaviours)


def mean_and_error(scores: Array) -> tuple[float, float]:
    """Return the mean over dogs and its standard error."""
    return float(scores.mean()), float(scores.std(ddof=1) / np.sqrt(len(scores)))
