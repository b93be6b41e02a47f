"""How the sessions left are shared, against an integer programme solved elsewhere."""

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp
from scipy.special import expit

from pupilage.core.errors import InvalidInput
from pupilage.core.planning.sharing import Curve, share_out

NEED = (13, 11, 10, 7, 8, 5, 5, 5)


def logistic(need: int, *, scale: float) -> Curve:
    """Return an S-shaped curve over 0 … 20 sessions; the share is of values, which must be chances here."""
    n = np.arange(21)
    return Curve(tuple(n.tolist()), tuple((expit((n - need) / 1.5) * scale).tolist()))


def test_shares_of_the_worked_knapsack_are_those_of_the_integer_programme():
    # Eight behaviours, value 1000 / (1 + exp(-(k - need) / 1.5)), at most 20 sessions each, 40 in all:
    # `scipy.optimize.milp` 1.17.1 (HiGHS) and dynamic programming give 3959.0535475676 with 0,0,0,9,10,7,7,7 sessions.
    # Weights of 1000 on chances give the same problem.
    curves = {str(i): logistic(need, scale=1.0) for i, need in enumerate(NEED)}
    shares = share_out(curves, dict.fromkeys(curves, 1000.0), 40)
    assert [share.n_sessions for share in shares.values()] == [0, 0, 0, 9, 10, 7, 7, 7]
    value = sum(1000.0 * share.p_with for share in shares.values())
    assert value == pytest.approx(3959.0535475676, abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_value_is_that_of_highs_within_the_least_gain(seed):
    rng = np.random.default_rng(seed)
    n_goals, total = 6, int(rng.integers(0, 40))
    numbers = [np.unique(np.concatenate(([0], rng.integers(1, 20, 5)))) for _ in range(n_goals)]
    curves = {str(i): Curve(tuple(n.tolist()), tuple(rng.random(len(n)).tolist())) for i, n in enumerate(numbers)}
    weights = {key: float(rng.integers(1, 6)) for key in curves}
    shares = share_out(curves, weights, total)
    ours = sum(weights[key] * share.p_with for key, share in shares.items())
    value = np.concatenate([weights[key] * np.array(curve.p) for key, curve in curves.items()])
    size = np.concatenate(numbers)
    owner = np.repeat(np.arange(n_goals), [len(n) for n in numbers])
    one_each = LinearConstraint((owner == np.arange(n_goals)[:, None]).astype(float), 1, 1)
    best = milp(-value, constraints=[one_each, LinearConstraint(size[None, :].astype(float), 0, total)], integrality=1)
    assert sum(share.n_sessions for share in shares.values()) <= total
    # 0.01 is the least gain for which a further number of sessions is taken, at most once a goal and option.
    assert -best.fun - 0.01 * n_goals * 5 <= ours <= -best.fun + 1e-9


def test_gain_of_two_hundredths_is_taken_and_one_of_half_a_hundredth_is_not():
    # Weight 3 on chances: 3 x (0.5067 - 0.5) = 0.020 is above the least gain of 0.01, 3 x (0.5017 - 0.5) = 0.005 below.
    for p, n in ((0.5067, 4), (0.5017, 0)):
        assert share_out({"sit": Curve((0, 4), (0.5, p))}, {"sit": 3.0}, 4)["sit"].n_sessions == n


def test_nothing_to_share_leaves_every_goal_without():
    shares = share_out({"sit": logistic(5, scale=0.9)}, {"sit": 3.0}, 0)
    assert shares["sit"].n_sessions == 0
    assert shares["sit"].is_left_out
    assert shares["sit"].worth > 0.0
    assert share_out({}, {}, 10) == {}


@pytest.mark.parametrize(
    ("curve", "weight", "n"),
    [
        (Curve((0, 1), (0.1, float("nan"))), 1.0, 5),
        (Curve((0, 1), (0.1, 1.2)), 1.0, 5),
        (Curve((1, 2), (0.1, 0.2)), 1.0, 5),
        (Curve((), ()), 1.0, 5),
        (Curve((0, 1), (0.1, 0.2)), float("inf"), 5),
        (Curve((0, 1), (0.1, 0.2)), 1.0, -1),
    ],
)
def test_what_is_no_curve_no_weight_or_no_number_is_refused(curve, weight, n):
    with pytest.raises(InvalidInput):
        share_out({"sit": curve}, {"sit": weight}, n)
