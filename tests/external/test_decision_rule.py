"""How often the rule errs: exact, against Wald's sequential test, a simulation and its own published figures.

Sources: Wald, 1945, Ann. Math. Stat. 16, "Sequential tests of statistical hypotheses" (the test and its limits);
its exact operating characteristics at .60/.85 were printed by an earlier, separate dynamic programme.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from engine_cases import WAIT, series
from pupilage.core.training.decision import Action, decide, judge_counts
from pupilage.core.training.sets_of_five import operating_characteristics

ALPHA = BETA = 0.10
P0, P1 = 0.60, 0.85

WALD = {
    # p: P(raise), expected trials
    0.5: (0.016, 8.1),
    0.6: (0.086, 11.9),
    0.7: (0.348, 17.1),
    0.8: (0.797, 16.7),
    0.85: (0.931, 13.8),
    0.9: (0.985, 10.8),
}

OURS = {
    # p: P(raise), P(lower) in 20 trials, expected trials, P(raise) in 40; as docs/science/first-engine.md has them
    0.5: (0.016, 0.827, 10.2, 0.018),
    0.6: (0.073, 0.587, 13.1, 0.101),
    0.7: (0.246, 0.303, 14.9, 0.380),
    0.8: (0.585, 0.094, 14.0, 0.800),
    0.85: (0.776, 0.038, 12.5, 0.934),
    0.9: (0.924, 0.010, 10.8, 0.987),
    0.95: (0.992, 0.001, 9.1, 0.999),
}


def wald(n_met: int, n_not_met: int, _: int) -> Action | None:
    """Return what the sequential probability ratio test of .60 against .85 says."""
    ratio = n_met * math.log(P1 / P0) + n_not_met * math.log((1 - P1) / (1 - P0))
    if ratio >= math.log((1 - BETA) / ALPHA):
        return Action.RAISE
    return Action.LOWER if ratio <= math.log(BETA / (1 - ALPHA)) else None


@pytest.mark.parametrize(("p", "row"), WALD.items())
def test_dynamic_programme_gives_the_printed_values_of_wald_s_test(p, row):
    found = operating_characteristics(p, wald, n_trials=400)
    assert found.p_undecided < 1e-4
    assert found.p_raise == pytest.approx(row[0], abs=0.5e-3 + 1e-4)
    assert found.n_trials == pytest.approx(row[1], abs=0.05 + 1e-3)


def test_wald_s_test_keeps_its_bound_on_errors():
    """Wald's inequality: the realised errors add up to no more than the nominal ones do."""
    wrong_raise = operating_characteristics(P0, wald, n_trials=400).p_raise
    wrong_lower = operating_characteristics(P1, wald, n_trials=400).p_lower
    assert wrong_raise + wrong_lower <= ALPHA + BETA


@pytest.mark.parametrize(("p", "row"), OURS.items())
def test_our_rule_does_what_is_written_of_it(p, row):
    found = operating_characteristics(p)
    assert (found.p_raise, found.p_lower) == pytest.approx(row[:2], abs=0.5e-3 + 1e-9)
    assert found.n_trials == pytest.approx(row[2], abs=0.05 + 1e-9)


def test_wrong_raise_at_point_six_stays_near_one_in_ten_even_in_forty_trials():
    assert operating_characteristics(0.60).p_raise <= 0.08
    assert raise_within(0.60, 40) <= 0.105


def test_three_misses_in_a_row_seldom_lower_a_dog_that_is_ready():
    """The false alarm of lowering at a true .85, whatever the cause: 3.8 %; at .90: 1 %."""
    assert operating_characteristics(0.85).p_lower <= 0.04
    assert operating_characteristics(0.90).p_lower <= 0.0105


@pytest.mark.parametrize(("p", "row"), OURS.items())
def test_longer_runs_forget_the_oldest_trials_as_written(p, row):
    assert raise_within(p, 40) == pytest.approx(row[3], abs=0.5e-3 + 1e-9)


def raise_within(p: float, n_trials: int) -> float:
    """Return P(raise) within `n_trials`, exactly: a state is the last 20 outcomes, one bit each, newest lowest."""
    weights, raised = np.array([1.0]), 0.0
    for n in range(1, n_trials + 1):
        kept = weights if n <= 20 else weights.reshape(2, -1).sum(axis=0)
        after = np.empty(2 * kept.size)
        after[0::2], after[1::2] = (1.0 - p) * kept, p * kept
        verdict = verdicts(min(n, 20))
        raised += after[verdict == 1].sum()
        after[verdict != 0] = 0.0
        weights = after
    return float(raised)


_verdicts: dict[int, np.ndarray] = {}


def verdicts(n_bits: int) -> np.ndarray:
    """Return 1 raise, 2 lower, 0 neither for every run of `n_bits` outcomes."""
    if n_bits not in _verdicts:
        states = np.arange(2**n_bits)
        met = sum((states >> bit) & 1 for bit in range(n_bits))
        row = np.select([states & 1 == 1, states & 2 == 2, states & 4 == 4], [0, 1, 2], 3)
        code = {Action.RAISE: 1, Action.LOWER: 2, None: 0}
        table = np.array([[code[judge_counts(k, n_bits - k, r)] for r in range(4)] for k in range(n_bits + 1)])
        _verdicts[n_bits] = table[met, np.minimum(row, n_bits)]
    return _verdicts[n_bits]


@pytest.mark.parametrize(("p", "row"), OURS.items())
def test_page_on_the_model_prints_these_figures(p, row):
    """The table "What it does" of docs/science/first-engine.md: raise, lower, trials, raise within 40."""
    page = Path(__file__).parents[2] / "docs" / "science" / "first-engine.md"
    line = f"| {p:.2f} | {row[0]:.3f} | {row[1]:.3f} | {row[2]:.1f} | {row[3]:.3f} |"
    assert line in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("p", [0.60, 0.85])
def test_decisions_on_simulated_trials_agree_with_the_exact_values(p):
    """Seeded simulation of 2,000 dogs through `decide` itself; tolerance four Monte-Carlo standard errors."""
    rng = np.random.default_rng(20310506)
    n_dogs, raised, lowered = 2000, 0, 0
    for draws in rng.random((n_dogs, 20)) < p:
        trials = series("".join("m" if met else "x" for met in draws), step="b")
        for n in range(1, 21):
            action = decide(WAIT, "b", trials[:n], session_id=None, now=trials[-1].at).action
            if action is not Action.KEEP:
                raised += action is Action.RAISE
                lowered += action is Action.LOWER
                break
    exact = operating_characteristics(p)
    for found, chance in ((raised, exact.p_raise), (lowered, exact.p_lower)):
        assert found / n_dogs == pytest.approx(chance, abs=4.0 * math.sqrt(chance * (1 - chance) / n_dogs))
