"""Simulation-based calibration: of dogs drawn from the prior, the posterior knows no more and no less than it says.

If a dog is drawn from the prior and trained by the engine's own model, the place of its true figure in the posterior is
uniform, at any time, for any rule of training (Talts et al., 2018, "Validating Bayesian inference algorithms with
simulation-based calibration"; Cook, Gelman and Rubin, 2006). tests/drawn_dogs.py writes the model down once more,
for one dog at a time and without a grid.
"""

from datetime import timedelta
from functools import lru_cache

import numpy as np
import pytest
from scipy import stats

from drawn_dogs import DrawnDog, draw_dog
from engine_cases import START, ladder
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import ladder_of
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS, Family
from pupilage.core.training.posterior.prior import MODELS, shipped_prior
from pupilage.core.training.posterior.reading import N_BINS, read_step
from pupilage.core.training.posterior.state import Now

N_DOGS = 400
LEAST_P = 1e-3
"""A correct engine fails one seed of a thousand a test; the seed is fixed, so it either does or does not."""

TAUGHT = ladder(0.0, 4.0, 15.0, 40.0)
OTHERS = [ladder(0.0, 5.0, 15.0, 40.0, key=key) for key in ("down", "touch")]


def placed(atoms: np.ndarray, weights: np.ndarray, true: float, v: float) -> float:
    """Return the place of the truth in a discrete posterior; v in (0, 1) breaks the tie within its atom."""
    near = 1e-6
    return float(weights[atoms < true - near].sum() + v * weights[np.abs(atoms - true) <= near].sum()) / weights.sum()


def rate_of(now: Now) -> tuple[np.ndarray, np.ndarray]:
    """Return the posterior of the learning rate as atoms and weights, all models together."""
    weight, mastery = now.joint
    cells = now.grid.cells
    return np.concatenate((cells.rate, cells.level_rate)), np.concatenate((weight.sum((0, 1)), mastery.sum((0, 1, 3))))


def true_chance(dog: DrawnDog, step: int, form: float) -> float:
    truth = dog.truths[0]
    if dog.family is Family.BY_LEVELS:
        return float(learners.p_met_by_levels(len(TAUGHT.steps), step, form=form)[truth.mastered])
    return float(learners.p_met(truth.skill, float(ladder_of(TAUGHT).delta[step]), form=form))


@lru_cache(maxsize=4)
def places(n_days: int, n_others: int, n_dogs: int = N_DOGS) -> dict[str, np.ndarray]:
    """Return where the truths of drawn dogs lie in their posteriors, on the morning after so many days."""
    rng = np.random.default_rng((17, n_days, n_others))
    behaviours, prior = [TAUGHT, *OTHERS[:n_others]], shipped_prior()
    found: dict[str, list[float]] = {"model": [], "rate": [], "skill": [], "chance": []}
    for _ in range(n_dogs):
        dog = draw_dog(prior, behaviours, rng, n_days=n_days)
        now = know({b.key: b for b in behaviours}, dog.trials).at(TAUGHT.key, START + timedelta(days=n_days))
        v = rng.random(4)
        found["model"].append(placed(np.arange(len(MODELS)), now.models, dog.model, v[0]))
        found["rate"].append(placed(*rate_of(now), dog.truths[0].rate, v[1]))
        if dog.family is not Family.BY_LEVELS:
            weights = now.forms[:, dog.model] @ now.grid.weight[:, dog.model]
            found["skill"].append(placed(now.grid.skill[dog.model], weights, dog.truths[0].skill, v[2]))
        step, form = int(rng.integers(len(TAUGHT.steps))), float(rng.choice(FORMS, p=FORM_WEIGHTS))
        mass = read_step(now, step, tired=0.0).mass
        bin_ = min(N_BINS - 1, int(true_chance(dog, step, form) * N_BINS))
        found["chance"].append(float(mass[:bin_].sum() + v[3] * mass[bin_]))
    return {name: np.array(one) for name, one in found.items()}


@pytest.mark.parametrize("name", ["model", "rate", "skill", "chance"])
@pytest.mark.parametrize("n_days", [2, 12])
def test_truth_lies_anywhere_in_the_posterior_alike(name, n_days):
    found = places(n_days, 0)[name]
    assert stats.kstest(found, "uniform").pvalue > LEAST_P
    counts = np.bincount(np.minimum(9, (10 * found).astype(int)), minlength=10)
    assert stats.chisquare(counts).pvalue > LEAST_P


@pytest.mark.parametrize("n_days", [2, 12])
def test_ninety_per_cent_intervals_hold_ninety_per_cent(n_days):
    found = places(n_days, 0)["chance"]
    held = int(((found > 0.05) & (found < 0.95)).sum())
    assert stats.binomtest(held, len(found), 0.9).pvalue > LEAST_P


@pytest.mark.parametrize("name", ["model", "rate", "skill", "chance"])
def test_three_behaviours_that_share_days_and_models_stay_calibrated(name):
    # The form of a day is shared; what is kept of it between behaviours is a product, so not exact.
    found = places(8, 2, 120)[name]
    assert stats.kstest(found, "uniform").pvalue > LEAST_P
