"""Thresholds and the most informative try against the QUEST+ library, statsmodels, and the information of a law.

Sources: questplus 2023.1 (Watson, 2017, "QUEST+: a general multidimensional Bayesian adaptive psychometric method",
J. Vision 17(3):10), values from the call that is quoted at WATSON; statsmodels 0.15.0, called here and now; Fisher
information of a break time under the exponential law, closed form.

psignifit's published example is left out: its data are its own, and are copied nowhere in this project.
"""

from datetime import UTC

import numpy as np
import pytest
import statsmodels.api as sm

from engine_cases import MAT, hold_trials
from pupilage.core.errors import InvalidInput
from pupilage.core.training.thresholds.information import expected_entropies
from pupilage.core.training.thresholds.points import even_normals, points_near
from pupilage.core.training.thresholds.rounds import rounds_of

DURATIONS_S = np.array([1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0])
THRESHOLDS = np.linspace(-np.log10(120.0), 0.0, 40)
SLOPES = np.array([1.5, 2.5, 3.5, 5.0, 7.0])
LAPSES = np.array([0.02, 0.05, 0.1])
GUESS = 0.02
ANSWERS = "YYNYNNYYNY"

CHOSEN_S = (12.0, 45.0, 60.0, 45.0, 60.0, 45.0, 30.0, 45.0, 45.0, 30.0)
ENTROPIES = (
    5.971423865765612, 5.6208965879966994, 5.1503669852855225, 5.248355802244666, 4.959226497477097,
    4.803565097428551, 4.855302860960562, 4.689619797234133, 4.567685249312629, 4.523403252571323,
)  # fmt: skip
WATSON = {"threshold_s": 42.02902290435934, "slope": 3.908667161039449, "lapse": 0.054848026906070504}
"""CHOSEN_S, ENTROPIES and these by

    QuestPlus(stim_domain={"intensity": -log10(DURATIONS_S)}, func="weibull", stim_scale="log10",
              param_domain={"threshold": THRESHOLDS, "slope": SLOPES, "lower_asymptote": [GUESS], "lapse_rate": LAPSES},
              outcome_domain={"response": ["Yes", "No"]}, stim_selection_method="min_entropy",
              param_estimation_method="mean")

and, for every answer, `next_stim`, `entropy`, `update`; `param_estimate` at the end."""


def weibull() -> tuple[np.ndarray, np.ndarray]:
    """Return the chance (12, 600) of a yes at every duration for every cell, and the cells' parameters (600, 3)."""
    cells = np.stack([x.ravel() for x in np.meshgrid(THRESHOLDS, SLOPES, LAPSES, indexing="ij")], axis=1)
    threshold, slope, lapse = cells.T
    held = np.exp(-(10.0 ** (slope * (-np.log10(DURATIONS_S)[:, None] - threshold))))
    return 1.0 - lapse - (1.0 - GUESS - lapse) * held, cells


def test_next_tries_and_expected_entropies_are_those_of_quest_plus() -> None:
    p, cells = weibull()
    weight = np.full(len(cells), 1.0 / len(cells))
    for answer, chosen_s, entropy in zip(ANSWERS, CHOSEN_S, ENTROPIES, strict=True):
        left = expected_entropies(p, weight)
        best = int(np.argmin(left))
        assert DURATIONS_S[best] == chosen_s
        assert left[best] == pytest.approx(entropy, abs=1e-9)
        weight = weight * (p[best] if answer == "Y" else 1.0 - p[best])
        weight /= weight.sum()
    threshold, slope, lapse = weight @ cells
    assert 10.0**-threshold == pytest.approx(WATSON["threshold_s"], rel=1e-9)
    assert slope == pytest.approx(WATSON["slope"], rel=1e-9)
    assert lapse == pytest.approx(WATSON["lapse"], rel=1e-9)


@pytest.mark.parametrize("wrong", [np.nan, -0.1, 1.1])
def test_chances_that_are_none_are_refused(wrong: float) -> None:
    with pytest.raises(InvalidInput, match="chance"):
        expected_entropies(np.array([[0.5, wrong]]), np.array([0.5, 0.5]))
    with pytest.raises(InvalidInput, match="distribution"):
        expected_entropies(np.array([[0.5, 0.5]]), np.array([0.5, wrong]))


ASKED_S = np.array([2.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 90.0])
N_MET = np.array([10, 10, 9, 9, 7, 5, 3, 1])
N_ASKED = 10


def test_importance_points_find_the_threshold_that_statsmodels_finds() -> None:
    """GLM(Binomial) on log duration: 8.678325, -2.322318; half at 41.969 s (31.97 to 55.09), 0.8 at 23.103 s.

    The prior is wide beside the record, log-normal with an sd of 1, and moves the answer by less than 4 %; the points
    themselves are held against a fine grid of the same posterior.
    """
    counts = np.column_stack((N_MET, N_ASKED - N_MET))
    glm = sm.GLM(counts, sm.add_constant(np.log(ASKED_S)), family=sm.families.Binomial()).fit()
    a, b = glm.params
    assert (a, b) == pytest.approx((8.678325, -2.322318), abs=5e-7)
    assert np.exp(-a / b) == pytest.approx(41.969, abs=5e-4)
    assert np.exp((np.log(4.0) - a) / b) == pytest.approx(23.103, abs=5e-4)
    gradient = np.array([-1.0 / b, a / b**2])
    se = float(np.sqrt(gradient @ glm.cov_params() @ gradient))
    assert np.exp(-a / b + np.array([-1.959964, 1.959964]) * se) == pytest.approx((31.97, 55.09), abs=5e-3)

    first = even_normals(24, 2)
    z, mass = points_near(first, log_likelihood(first), 48)
    posterior = mass * np.exp(log_likelihood(z) - log_likelihood(z).max())
    mean, sd = moments(z, posterior)
    axis = np.linspace(-5.0, 5.0, 401)
    fine = np.stack([x.ravel() for x in np.meshgrid(axis, axis, indexing="ij")], axis=1)
    exact = np.exp(log_likelihood(fine) - 0.5 * (fine * fine).sum(1) + 40.0)
    assert (mean, sd) == pytest.approx(moments(fine, exact), abs=0.02)
    assert np.exp(mean) == pytest.approx(np.exp(-a / b), rel=0.04)
    assert sd == pytest.approx(se, rel=0.2)


def log_likelihood(z: np.ndarray) -> np.ndarray:
    """Return the log likelihood of the record: log threshold N(log 30, 1), log slope N(log 2, 1), in standard units."""
    log_threshold, slope = np.log(30.0) + z[:, :1], 2.0 * np.exp(z[:, 1:])
    logits = slope * (log_threshold - np.log(ASKED_S))
    return (N_MET * -np.logaddexp(0.0, -logits) + (N_ASKED - N_MET) * -np.logaddexp(0.0, logits)).sum(1)


def moments(z: np.ndarray, weight: np.ndarray) -> tuple[float, float]:
    """Return mean and sd of the log threshold."""
    x = np.log(30.0) + z[:, 0]
    mean = float(x @ weight / weight.sum())
    return mean, float(np.sqrt((x - mean) ** 2 @ weight / weight.sum()))


@pytest.mark.parametrize(
    ("p_hold", "of_times", "of_outcomes"), [(0.5, 0.5, 0.480453), (0.8, 0.2, 0.199172), (0.2, 0.8, 0.647573)]
)
def test_thirds_of_a_broken_hold_keep_most_of_what_its_time_tells(
    p_hold: float, of_times: float, of_outcomes: float
) -> None:
    """Fisher information about the log scale of an exponential law: F with break times, H^2 S / (1 - S) without."""
    hazard_sum = -np.log(p_hold)
    assert 1.0 - p_hold == pytest.approx(of_times, abs=1e-9)
    assert hazard_sum**2 * p_hold / (1.0 - p_hold) == pytest.approx(of_outcomes, abs=1e-6)
    target_s = 30.0
    breaks = hold_trials(*((held, target_s, True) for held in (0.1, 5.0, 20.0)))
    ends = [one.broke for one in rounds_of({MAT.key: MAT}, MAT.key, breaks, UTC)]
    bins_s = [(first or 0.0, end) for first, end in ends] + [(target_s, np.inf)]
    assert bins_s[0][1] == bins_s[1][0]
    assert bins_s[1][1] == bins_s[2][0]
    assert bins_s[2][1] == pytest.approx(target_s)
    kept = sum(bin_information(hazard_sum * a / target_s, hazard_sum * b / target_s) for a, b in bins_s)
    assert of_outcomes < kept < of_times
    assert kept > 0.99 * of_outcomes + 0.3 * (of_times - of_outcomes)


def bin_information(a: float, b: float) -> float:
    """Return (dP/dlog scale)^2 / P of a time between a and b, in units of the mean."""

    def slope(x: float) -> float:
        return 0.0 if np.isinf(x) else x * np.exp(-x)

    return (slope(a) - slope(b)) ** 2 / (np.exp(-a) - np.exp(-b))
