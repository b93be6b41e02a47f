"""After the hand-over: forgetting beside fsrs, counts beside SciPy; differences, rates, agreement by statsmodels."""

from datetime import UTC, datetime, timedelta

import fsrs
import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import confint_proportions_2indep
from statsmodels.stats.rates import test_poisson_2indep as poisson_test

from pupilage.core.evaluation.agreement import agree_on_trials
from pupilage.core.handover.calls import more_often
from pupilage.core.handover.follow_up import WEEKS
from pupilage.core.handover.kept import chance_of_as_few, hold_against, quantiles_of
from pupilage.core.handover.lesson import difference_limits
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Forgetting
from pupilage.core.training.posterior.reading import Reading, middles

LAST_PRACTISED = datetime(2026, 5, 1, tzinfo=UTC)


def remembered(decay, stability, days):
    """Return the retrievability that the fsrs library gives a card after so many days."""
    parameters = (*fsrs.Scheduler().parameters[:20], decay)
    card = fsrs.Card(stability=stability, difficulty=5.0, last_review=LAST_PRACTISED, due=LAST_PRACTISED)
    at = LAST_PRACTISED + timedelta(days=days)
    return fsrs.Scheduler(parameters=parameters).get_card_retrievability(card, at)


@pytest.mark.parametrize("decay", [0.1542, 0.5, 0.8])
@pytest.mark.parametrize("stability", [8.0, 30.0])
def test_what_is_left_at_each_follow_up_is_what_fsrs_says(decay, stability):
    # Source: fsrs 6 (Open Spaced Repetition), R(t) = (1 + F t / S)^-d with R(S) = 0.9. The forms coincide where our
    # exponential law is averaged over speeds with a Gamma law of shape d (its Laplace transform).
    factor = 0.9 ** (-1.0 / decay) - 1.0
    speed = stats.gamma(decay, scale=factor / stability)
    edges = np.concatenate(([0.0], np.exp(np.linspace(-90.0, 4.0, 20_001))))
    speeds, weights = np.sqrt(np.maximum(edges[:-1], 1e-45) * edges[1:]), np.diff(speed.cdf(edges))
    for days in (7 * week for week in WEEKS):
        kept = learners.retained(float(days), np.log(2.0) / speeds, Forgetting.EXPONENTIAL)
        assert float(weights @ kept) == pytest.approx(remembered(decay, stability, days), abs=5e-6)


def test_our_power_law_is_where_the_decay_of_fsrs_would_be_one():
    # fsrs allows a decay up to 0.8 (its upper bound); ours is the same form at 1, with half left after the half-life.
    half_life = 20.0
    for days in (7.0, 14.0, 28.0, 56.0):
        expected = (1.0 + days / half_life) ** -1.0
        assert learners.retained(days, half_life, Forgetting.POWER) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("n_met", "n", "p"), [(0, 5, 0.8), (3, 10, 0.75), (7, 10, 0.75), (20, 40, 0.6)])
def test_as_few_under_one_known_chance_is_the_binomial_law(n_met, n, p):
    assert chance_of_as_few(n_met, np.full((7, n), p)) == pytest.approx(stats.binom(n, p).cdf(n_met), rel=1e-10)


def test_as_few_under_an_uncertain_chance_is_the_beta_binomial_law():
    law = stats.beta(12.0, 4.0)
    density = law.pdf(middles())
    reading = Reading(0.75, mass=density / density.sum())
    found = chance_of_as_few(4, quantiles_of([reading] * 10, 2000))
    # 200 bins of the chance and 2,000 nodes: the error was 4e-6.
    assert found == pytest.approx(stats.betabinom(10, 12.0, 4.0).cdf(4), abs=2e-4)


def test_what_was_told_is_held_against_the_beta_binomial_law():
    density = stats.beta(12.0, 4.0).pdf(middles())
    reading = Reading(0.75, mass=density / density.sum())
    kept = hold_against(reading, [(reading, n < 6) for n in range(10)], behaviour="sit", step="word")
    assert kept.p_as_few == pytest.approx(stats.betabinom(10, 12.0, 4.0).cdf(6), rel=4e-3)
    assert kept.expected == pytest.approx(7.5, rel=1e-9)


def test_as_few_of_tries_with_different_chances_is_the_poisson_binomial_law():
    chances = np.array([0.9, 0.8, 0.4])
    none, one = np.prod(1 - chances), 0.9 * 0.2 * 0.6 + 0.1 * 0.8 * 0.6 + 0.1 * 0.2 * 0.4
    assert chance_of_as_few(0, chances[None]) == pytest.approx(none)
    assert chance_of_as_few(1, chances[None]) == pytest.approx(none + one)


@pytest.mark.parametrize("counts", [(56, 70, 48, 80), (9, 10, 3, 10), (0, 10, 0, 20), (5, 5, 20, 20), (2, 7, 19, 20)])
def test_difference_has_the_limits_of_newcombe(counts):
    expected = confint_proportions_2indep(*counts, method="newcomb", alpha=0.05)
    assert difference_limits(*counts, level=0.95) == pytest.approx(expected, abs=1e-9)


def test_difference_of_the_published_example():
    # Newcombe (1998), Statistics in Medicine 17, 873-890, table II (a): 56/70 - 48/80, method 10 (from memory).
    assert difference_limits(56, 70, 48, 80, level=0.95) == pytest.approx((0.0524, 0.3339), abs=5e-5)


@pytest.mark.parametrize(
    ("n", "days", "own_n", "own_days"), [(6, 7, 3, 14), (3, 7, 1, 14), (3, 7, 6, 10), (9, 7, 1, 14)]
)
def test_more_accidents_than_before_is_the_exact_test_of_two_rates(n, days, own_n, own_days):
    expected = poisson_test(n, days, own_n, own_days, method="exact-cond", alternative="larger").pvalue
    assert more_often(n, days, own_n, own_days) == pytest.approx(expected, rel=1e-9)


def test_three_accidents_after_none_have_one_chance_in_27():
    assert more_often(3, 7.0, 0, 14.0) == pytest.approx((7 / 21) ** 3, rel=1e-12)


def test_agreement_of_a_family_with_the_trainer_is_that_of_statsmodels():
    trainer = ["met"] * 14 + ["missed"] * 4 + ["helped"] * 2
    family = ["met"] * 12 + ["missed"] * 2 + ["missed"] * 3 + ["met"] + ["helped", "met"]
    words = ("met", "missed", "helped")
    table = [[sum(a == i and b == j for a, b in zip(trainer, family, strict=True)) for j in words] for i in words]
    expected = cohens_kappa(np.array(table))
    found = agree_on_trials(trainer, family)
    assert found.kappa == pytest.approx(expected.kappa, rel=1e-12)
    assert (found.low, found.high) == pytest.approx((expected.kappa_low, expected.kappa_upp), abs=1e-9)
