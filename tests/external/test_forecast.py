"""The forecast against its own model, taken by other ways: scipy.stats and a seeded simulation.

Sources: scipy.stats.binom, betabinom; the rule's operating characteristics (test_decision_rule.py).
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import beta, betabinom, binom

from engine_cases import WAIT, day, series
from pupilage.core.training.forecast import P_ESTABLISHED, forecast
from pupilage.core.training.sets_of_five import operating_characteristics


def climb():
    """Four sessions: a step gained in the first and in the second, none in the third; the newest is still open."""
    rows = [("a", "mm"), ("b", "mm"), ("c", "mmx"), ("c", "mm")]
    return [
        t for n, (step, letters) in enumerate(rows) for t in series(letters, step=step, session=f"s{n}", start=day(n))
    ]


def told(target: str, left: int):
    return forecast(WAIT, target, climb(), now=day(9), sessions_left=left)


def test_chance_at_an_established_step_is_the_average_over_the_dogs_that_the_rule_raises():
    def raised(p: float) -> float:
        return beta(2, 1).pdf(p) * operating_characteristics(p).p_raise

    top = quad(lambda p: raised(p) * binom(10, p).sf(7), 0, 1, epsrel=1e-6)[0]
    assert top / quad(raised, 0, 1, epsrel=1e-6)[0] == pytest.approx(P_ESTABLISHED, abs=0.005)


@pytest.mark.parametrize("left", [1, 3, 12])
def test_one_step_to_go_agrees_with_scipy(left):
    gains, fresh = betabinom(left, 3, 2), betabinom(10, 2, 1).sf(7)
    wanted = gains.pmf(1) * fresh + gains.sf(1) * P_ESTABLISHED
    assert told("d", left).p == pytest.approx(wanted, rel=1e-9)


def test_range_is_the_chance_at_the_slowest_and_quickest_pace_still_likely():
    for end, q in ((told("d", 6).low, 0.05), (told("d", 6).high, 0.95)):
        gains, fresh = binom(6, beta(3, 2).ppf(q)), betabinom(10, 2, 1).sf(7)
        assert end == pytest.approx(gains.pmf(1) * fresh + gains.sf(1) * P_ESTABLISHED, rel=1e-6)


@pytest.mark.parametrize("left", [0, 2, 8])
def test_at_the_target_agrees_with_scipy(left):
    now = betabinom(10, 2 + 4, 1 + 1).sf(7)
    gained = betabinom(left, 3, 2).sf(0)
    assert told("c", left).p == pytest.approx((1 - gained) * now + gained * max(now, P_ESTABLISHED), rel=1e-9)


def test_simulated_stays_meet_the_goal_as_often_as_forecast():
    """Seeded: 200,000 stays drawn from the model as written; tolerance four Monte-Carlo standard errors."""
    rng, n, left = np.random.default_rng(20310507), 200_000, 6
    gains = rng.binomial(left, rng.beta(3, 2, n))
    fresh = rng.binomial(10, rng.beta(2, 1, n)) >= 8
    established = rng.random(n) < P_ESTABLISHED
    met = np.where(gains == 1, fresh, np.where(gains > 1, established, False)).mean()
    p = told("d", left).p
    assert p == pytest.approx(met, abs=4 * math.sqrt(p * (1 - p) / n))
