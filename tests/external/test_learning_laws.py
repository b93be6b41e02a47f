"""Learning and forgetting against what other programs print: knowledge tracing, recall models, Rescorla and Wagner.

The programs are named with their versions; none is needed here. Where ours has another form than theirs, the test says
how theirs follows from ours.
"""

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize
from scipy.special import expit, logit

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Forgetting
from traced_mastery import traced


@pytest.mark.parametrize(
    ("forget", "chances", "known"),
    [
        (
            0.0,
            [0.34, 0.28909, 0.51962, 0.32988, 0.58892, 0.80492, 0.87874, 0.77375, 0.87063, 0.89393],
            [0.2, 0.12727, 0.4566, 0.18555, 0.55559, 0.86417, 0.96962, 0.81965, 0.95804, 0.99133],
        ),
        (
            0.05,
            [0.34, 0.28803, 0.50381, 0.32204, 0.55991, 0.76174, 0.83414, 0.595, 0.77785, 0.83831],
            [0.2, 0.12576, 0.43401, 0.17435, 0.51415, 0.80249, 0.90592, 0.56428, 0.82551, 0.91186],
        ),
    ],
)
def test_knowledge_tracing_predicts_as_pybkt_does(forget, chances, known):
    # pyBKT 1.4.3, prior 0.2, learn 0.1, guess 0.2, slip 0.1 fixed; printed to five digits.
    found = traced(forget)
    assert found[0] == pytest.approx(chances, abs=6e-6)
    assert found[1] == pytest.approx(known, abs=6e-6)


def answers_of_300() -> np.ndarray:
    """Return the answers of 300 made-up learners in 25 trials: prior and learn 0.2 and 0.1, guess 0.2, slip 0.1."""
    rng = np.random.default_rng(0)
    answers = np.empty((300, 25))
    for learner in answers:
        known = rng.random() < 0.2
        for t in range(25):
            learner[t] = rng.random() < (0.9 if known else 0.2)
            if not known:
                known = rng.random() < 0.1
    return answers


def log_likelihood(answers: np.ndarray, prior: float, learn: float, guess: float, slip: float) -> float:
    mastery, p = np.tile([1.0 - prior, prior], (len(answers), 1)), np.array([guess, 1.0 - slip])
    total = 0.0
    for answer in answers.T:
        mastery = mastery * np.where(answer[:, None] > 0.5, p, 1.0 - p)
        total += float(np.log(mastery.sum(1)).sum())
        mastery = learners.learn_by_levels(mastery / mastery.sum(1, keepdims=True), learn / learners.BKT_LEARN, 0, 1)
    return total


def test_knowledge_tracing_is_fitted_where_pybkt_and_a_separate_program_fit_it():
    answers = answers_of_300()
    found = minimize(lambda x: -log_likelihood(answers, *expit(x)), logit([0.3, 0.2, 0.25, 0.15]), method="BFGS")
    # A separate program by BFGS; pyBKT 1.4.3 by expectation and maximisation stops 7e-5 lower.
    assert -found.fun == pytest.approx(-3313.46344, abs=1e-4)
    assert expit(found.x) == pytest.approx([0.22465, 0.10822, 0.20809, 0.09755], abs=5e-5)
    assert expit(found.x) == pytest.approx([0.22497, 0.10817, 0.20810, 0.09755], abs=5e-4)


def test_power_law_of_fsrs_is_our_exponential_law_over_many_half_lives():
    # fsrs 6.3.2, four reviews, stability 8.0499187833: R(t) = (1 + 0.98034649 t / S)^-0.1542. A power law is what
    # exponential forgetting looks like when the speed differs from item to item by a Gamma law (Laplace transform).
    printed = {1: 0.9824354627, 2: 0.9669455557, 5: 0.9292926714, 10: 0.8844183442, 20: 0.8266983556}
    speed = stats.gamma(0.1542, scale=0.98034649 / 8.0499187833)
    edges = np.concatenate(([0.0], np.exp(np.linspace(-90.0, 3.0, 20_001))))
    middles, weights = np.sqrt(np.maximum(edges[:-1], 1e-45) * edges[1:]), np.diff(speed.cdf(edges))
    for days, expected in printed.items():
        kept = learners.retained(float(days), np.log(2.0) / middles, Forgetting.EXPONENTIAL)
        assert float(weights @ kept) == pytest.approx(expected, abs=2e-6)


def test_our_power_law_is_that_of_fsrs_with_speed_of_shape_one():
    speed = stats.gamma(1.0, scale=1.0 / 5.0)
    edges = np.linspace(0.0, 8.0, 40_001)
    middles, weights = (edges[:-1] + edges[1:]) / 2.0, np.diff(speed.cdf(edges))
    for days in (1.0, 4.0, 20.0):
        averaged = float(weights @ learners.retained(days, np.log(2.0) / middles, Forgetting.EXPONENTIAL))
        assert learners.retained(days, 5.0, Forgetting.POWER) == pytest.approx(averaged, abs=1e-6)


CHANCES_A_DAY = (np.arange(200_000) + 0.5) / 200_000
"""Recall after 24 hours; ebisu holds a Beta law over it, and every value is one half-life."""

HALF_LIVES_H = 24.0 * np.log(0.5) / np.log(CHANCES_A_DAY)
EBISU_PRIOR = CHANCES_A_DAY**3 * (1.0 - CHANCES_A_DAY) ** 3


def recall(weights: np.ndarray, hours: float) -> float:
    kept = learners.retained(hours, HALF_LIVES_H, Forgetting.EXPONENTIAL)
    return float(weights @ kept / weights.sum())


def test_recall_over_many_half_lives_is_that_of_ebisu():
    # ebisu 2.2.0, defaultModel(24, 4), predictRecall(exact=True).
    printed = {6: 0.8308316430, 12: 0.6961926962, 24: 0.5, 48: 0.2777777778, 96: 0.1060606061}
    for hours, expected in printed.items():
        assert recall(EBISU_PRIOR, float(hours)) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(
    ("met", "missed", "hours", "alpha", "balanced_h"),
    [(1, 0, 12.0, 4.0213901, 26.355621), (0, 1, 12.0, 4.9650215, 19.547254), (3, 2, 48.0, 6.0312776, 38.330763)],
)
def test_evidence_moves_the_half_lives_as_ebisu_does(met, missed, hours, alpha, balanced_h):
    # ebisu 2.2.0, updateRecall: after the evidence the recall at `balanced_h` is Beta(alpha, alpha) by its first two
    # moments, so its mean is 1/2 and its mean square (alpha + 1) / (4 alpha + 2).
    p = learners.retained(hours, HALF_LIVES_H, Forgetting.EXPONENTIAL)
    after = EBISU_PRIOR * p**met * (1.0 - p) ** missed
    assert recall(after, balanced_h) == pytest.approx(0.5, abs=1e-6)
    assert recall(after, 2.0 * balanced_h) == pytest.approx((alpha + 1.0) / (4.0 * alpha + 2.0), abs=1e-6)


def test_met_trials_move_the_skill_as_rescorla_and_wagner_do():
    # pyndl 1.2.4, dict_ndl, alpha 0.1, beta 0.1, lambda 1: cue+, cue+, cue-, cue and context+ twice ends at
    # V(cue) 0.0391109202, V(context) 0.0194099202. Ours has no unpaired trial; that step is done by hand.
    rate, delta = 0.1 * 0.1, 1.0 - learners.ASYMPTOTE

    def gain(total: float) -> float:
        return float(learners.learn_toward_level(total, rate, delta, 1, 1)) - total

    cue = context = 0.0
    for _ in range(2):
        cue += gain(cue)
    cue -= rate * cue
    for _ in range(2):
        more = gain(cue + context)
        cue, context = cue + more, context + more
    assert (cue, context) == pytest.approx((0.0391109202, 0.0194099202), abs=1e-10)
