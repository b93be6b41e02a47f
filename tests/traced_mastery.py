"""Knowledge tracing of one level by the engine's own steps, for tests that compare it with other programs."""

import numpy as np

from pupilage.core.training.posterior import learners

ANSWERS = "0101110111"


def after_a_trial(mastery: np.ndarray, learn: float, forget: float) -> np.ndarray:
    """Return the mastery of one level after a trial that teaches and forgets at once, as pyBKT has it."""
    not_yet, known = np.array([mastery[0], 0.0]), np.array([0.0, mastery[1]])
    learned = learners.learn_by_levels(not_yet, learn / learners.BKT_LEARN, 0, 1)
    return learned + learners.forget_by_levels(known, np.asarray(1.0 - forget), 1)


def traced(forget: float) -> tuple[list[float], list[float]]:
    """Return the chance of each answer, and the chance that the level is mastered before it."""
    mastery, p = np.array([0.8, 0.2]), np.array([0.2, 0.9])
    chances, known = [], []
    for answer in map(int, ANSWERS):
        chances.append(float(mastery @ p))
        known.append(float(mastery[1]))
        mastery = mastery * (p if answer else 1.0 - p)
        mastery = after_a_trial(mastery / mastery.sum(), 0.1, forget)
    return chances, known
