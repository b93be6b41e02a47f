"""The common practice of sets of five, as an alternative rule, and how often it and ours err.

Common practice: 4 or 5 of 5 met, raise; 3 of 5, the same step again; 2 or fewer, the step before.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action, judge_counts
from pupilage.core.training.record.evidence import Outcome

SET_SIZE = 5
LONG_RUN = 200
"""Trials after which hardly a run is undecided: the test decides within 8 to 17 on average."""

MET_TO_RAISE = 4
MET_TO_KEEP = 3

Judge = Callable[[int, int, int], Action | None]
"""A rule on counts: met, not met, misses in a row at the end -> raise, lower, or None to go on."""


def judge_set_of_five(outcomes: Sequence[Outcome]) -> Action | None:
    """Return what the last complete set of five of this run says, or None before the first is complete.

    outcomes: those of the current run at the step, in time order. A void trial belongs to no set; a helped one is
    not met.
    """
    counted = [outcome for outcome in outcomes if outcome is not Outcome.VOID]
    complete = len(counted) // SET_SIZE * SET_SIZE
    if complete == 0:
        return None
    return _action_of_set(counted[complete - SET_SIZE : complete].count(Outcome.MET))


def _action_of_set(n_met: int) -> Action:
    if n_met >= MET_TO_RAISE:
        return Action.RAISE
    return Action.KEEP if n_met >= MET_TO_KEEP else Action.LOWER


def set_of_five_chances(p: float) -> dict[Action, float]:
    """Return how probable each action is after one set of five, when the true chance of a trial is `p` (0 to 1).

    Model: binomial, C(5, k) p^k (1-p)^(5-k), summed over the k of each action.
    Checked in tests/external/test_sets_of_five.py.
    """
    _require_chance(p)
    chances = dict.fromkeys((Action.RAISE, Action.KEEP, Action.LOWER), 0.0)
    for k in range(SET_SIZE + 1):
        chances[_action_of_set(k)] += math.comb(SET_SIZE, k) * p**k * (1.0 - p) ** (SET_SIZE - k)
    return chances


@dataclass(frozen=True)
class OperatingCharacteristics:
    """What a rule does when the true chance of a trial is known.

    p_raise, p_lower, p_undecided add up to 1; n_trials is the expected number of trials until it stops.
    """

    p_raise: float
    p_lower: float
    p_undecided: float
    n_trials: float


def operating_characteristics(
    p: float, judge: Judge = judge_counts, *, n_trials: int = LONG_RUN
) -> OperatingCharacteristics:
    """Return what a rule does that is asked after every trial, up to `n_trials` of them.

    Model: exact dynamic programming over (met, not met, misses in a row), a met trial with chance `p` (0 to 1).
    Our own rule is here the gate alone, its sequential test with three misses in a row; the whole advice also asks the
    grid (docs/science/learners.md tells how often it errs).
    Checked against Wald's sequential test and a simulation in tests/external/test_decision_rule.py.
    """
    _require_chance(p)
    undecided = {(0, 0, 0): 1.0}
    decided = {Action.RAISE: 0.0, Action.LOWER: 0.0}
    expected = 0.0
    for _ in range(n_trials):
        expected += math.fsum(undecided.values())
        undecided = _one_trial(undecided, p, judge, decided)
    left = math.fsum(undecided.values())
    return OperatingCharacteristics(decided[Action.RAISE], decided[Action.LOWER], left, expected)


def _one_trial(
    undecided: dict[tuple[int, int, int], float], p: float, judge: Judge, decided: dict[Action, float]
) -> dict[tuple[int, int, int], float]:
    """Move every undecided state one trial on; add to `decided` what the rule then settles."""
    after: dict[tuple[int, int, int], float] = {}
    for (met, not_met, row), weight in undecided.items():
        for state, chance in (((met + 1, not_met, 0), p), ((met, not_met + 1, row + 1), 1.0 - p)):
            action = judge(*state)
            if action in decided:
                decided[action] += weight * chance
            else:
                after[state] = after.get(state, 0.0) + weight * chance
    return after


def sets_of_five_until_decided(p: float) -> OperatingCharacteristics:
    """Return what sets of five do when they are repeated until one says raise or lower; expected trials included.

    Model: P(raise) = a / (a + c), expected trials = 5 / (1 - b), with a, b, c the chances of one set.
    Checked in tests/external/test_sets_of_five.py.
    """
    chances = set_of_five_chances(p)
    settled = chances[Action.RAISE] + chances[Action.LOWER]
    return OperatingCharacteristics(
        chances[Action.RAISE] / settled, chances[Action.LOWER] / settled, 0.0, SET_SIZE / settled
    )


def _require_chance(p: float) -> None:
    if not 0.0 <= p <= 1.0:  # NaN fails too
        raise InvalidInput.of("p", "{p} is no chance; give one between 0 and 1.", p=p)
