"""The learner families against published and independent values."""

import numpy as np
import pytest

from pupilage.core.training.posterior import learners


def test_bayesian_knowledge_tracing_predicts_as_pybkt_does():
    # Source: pyBKT 1.4.3, model with fixed prior 0.2, learn 0.1, guess 0.2, slip 0.1, no forgetting, answers
    # 0101110111: predicted P(correct), printed to five digits (own environment, scikit-learn < 1.6).
    published = [0.34, 0.28909, 0.51962, 0.32988, 0.58892, 0.80492, 0.87874, 0.77375, 0.87063, 0.89393]
    rate = 0.1 / learners.BKT_LEARN
    mastery = np.array([0.8, 0.2])
    p = np.array([0.2, 0.9])
    predicted = []
    for answer in map(int, "0101110111"):
        predicted.append(float(mastery @ p))
        mastery = mastery * (p if answer else 1.0 - p)
        mastery = learners.learn_by_levels(mastery / mastery.sum(), rate, 0, 1)
    assert predicted == pytest.approx(published, abs=5e-6)


def test_chance_of_mastery_after_twelve_tries_is_the_closed_form():
    # Source: Corbett & Anderson, 1995, User Modeling and User-Adapted Interaction 4:253-278:
    # P(known) = 1 - (1 - L0)(1 - T)^n; L0 = 0.2, T = 0.1, n = 12 gives 0.7740563708 (matrix power agrees).
    mastery = learners.learn_by_levels(np.array([0.8, 0.2]), 0.1 / learners.BKT_LEARN, 0, 12)
    assert mastery[1] == pytest.approx(0.7740563708, abs=1e-10)
    step = np.array([[0.9, 0.1], [0.0, 1.0]])
    assert np.array([0.8, 0.2]) @ np.linalg.matrix_power(step, 12) == pytest.approx(mastery, rel=1e-12)


def test_linear_operator_is_that_of_bush_and_mosteller():
    # Source: Bush & Mosteller, 1955, Stochastic Models for Learning, ch. 3: distance to the asymptote shrinks by
    # (1 - a) at every success; here towards delta + 2.2, misses costing 0.02 each.
    skill, rate, delta = 0.0, 0.1, 1.0
    by_hand = skill
    for _ in range(5):
        by_hand += rate * (delta + 2.2 - by_hand)
    assert learners.learn_toward_level(skill, rate, delta, 5, 5) == pytest.approx(by_hand, rel=1e-12)


def test_chance_of_a_trial_is_the_logistic_with_its_lapses():
    from scipy.special import expit

    s = np.linspace(-4, 6, 41)
    assert learners.p_met(s, 0.7, form=0.6, tired=-0.15) == pytest.approx(0.02 + 0.96 * expit(s - 0.7 + 0.45), rel=1e-9)
