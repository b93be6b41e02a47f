"""Wald's sequential test of a step: met 60 in 100 against 85 in 100, judged after every trial.

It is the gate in front of a raise: the grid may know much from earlier sessions, but on the trials of the present run
alone a step that is met six times in ten is raised wrongly in fewer than one run in ten.
"""

from math import ceil, log

P_TOO_HARD = 0.60
P_READY = 0.85
ALPHA = 0.10
BETA = 0.10

PER_MET = log(P_READY / P_TOO_HARD)
PER_MISS = log((1.0 - P_READY) / (1.0 - P_TOO_HARD))
UPPER = log((1.0 - BETA) / ALPHA)
LOWER = log(BETA / (1.0 - ALPHA))


def log_ratio(n_met: int, n_not_met: int) -> float:
    """Return the log likelihood ratio of 0.85 against 0.60 after these trials.

    Model: met log(.85/.60) + not met log(.15/.40); raise at log(.9/.1) or more, lower at log(.1/.9) or less.
    Source: Wald, 1945, Ann. Math. Stat. 16:117-186; operating characteristics in tests/external/test_decision_rule.py.
    """
    return n_met * PER_MET + n_not_met * PER_MISS


def after_trial(ratio: float, *, met: bool) -> float:
    """Return the log likelihood ratio after one more trial, never below LOWER.

    A run that goes on after the test has said no begins the test again there, so that misses of long ago, before the
    dog had learned, do not bury it.
    """
    return max(LOWER, ratio + (PER_MET if met else PER_MISS))


def n_met_until_sure(ratio: float) -> int:
    """Return how many more trials, all met, bring the test to its upper limit; 0 when it is there."""
    return max(0, ceil((UPPER - ratio) / PER_MET - 1e-9))
