"""What a trainer is told: raise, keep, lower, with a reason; by gates, and by what the steps are worth."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from engine_cases import LETTERS, START, daily_trials
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.training.criterion.advice import (
    LEAST_P,
    LEAST_P_BY_LEVELS,
    Action,
    Counts,
    advise,
    count,
    least_success,
    main_dimension,
)
from pupilage.core.training.criterion.decision import judge_run
from pupilage.core.training.criterion.sequential import UPPER, log_ratio, n_met_until_sure
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import at_moment, fold, fresh_state
from pupilage.core.training.record.evidence import SessionKind, Trial

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]

BY_LEVELS, BY_SKILL = np.array([0, 0, 0, 0, 0.5, 0.5]), np.array([0.25, 0.25, 0.25, 0.25, 0, 0])
"""Weights of the six models: a dog that surely learns level by level, and one that surely does not."""


def trials(letters, *, step=0, day=0):
    return daily_trials(SIT, letters, step=step, day=day)


def told(letters, *, step=0, before=(), day=0, values=None):
    """Return the advice after these trials at a step, the pup having done `before` on earlier days."""
    state = fold(fresh_state([SIT]), [*before, *trials(letters, step=step, day=day)])
    now = START + timedelta(days=day, minutes=30)
    return advise(SIT, step, at_moment(state, SIT.key, now=now), count(letters), values=values)


def test_first_trials_are_not_enough_yet():
    found = told("mx")
    assert (found.action, found.enough) == (Action.KEEP, False)
    assert str(found.reason) == "Not enough yet: has 2 of 5 trials at this step."


def test_long_row_of_met_trials_raises_and_says_what_to_expect():
    found = told("m" * 9)
    assert (found.action, found.step) == (Action.RAISE, 1)
    assert "the next step should be met about" in str(found.reason)
    assert found.dimension is Dimension.PROMPT


def test_middling_run_keeps_and_says_how_many_more():
    found = told("mmxmmmmxmm")
    assert found.action is Action.KEEP
    assert "more met in a row and it can be raised" in str(found.reason)


def test_three_misses_in_a_row_go_back_at_once():
    found = told("mxxx", step=3)
    assert (found.action, found.step) == (Action.LOWER, 2)
    assert told("mxxx", step=0).action is Action.PAUSE


def test_five_helped_trials_go_back():
    assert told("hhhhh", step=3).action is Action.LOWER


def test_known_step_is_raised_after_few_trials_when_the_pup_comes_back_to_it():
    climbed = [trial for day in range(4) for trial in trials("m" * 10, step=day // 2, day=day)]
    assert told("mm", step=0, before=climbed, day=5).action is Action.RAISE
    assert told("mm", step=0).action is Action.KEEP


def test_last_step_is_kept_fresh():
    last = len(SIT.steps) - 1
    found = told("m" * 9, step=last, day=9)
    assert (found.action, found.step) == (Action.KEEP, last)


def test_nothing_is_raised_to_a_step_predicted_below_the_band():
    hard = replace(SIT, steps=(SIT.steps[0], SIT.steps[-1]), target=SIT.steps[-1].key)
    state = fold(fresh_state([hard]), trials("m" * 9))
    now = at_moment(state, SIT.key, now=START + timedelta(minutes=30))
    now = replace(now, models=BY_SKILL)
    assert read_step(now, 1).mean < LEAST_P
    found = advise(hard, 0, now, count("m" * 9))
    assert found.action is Action.KEEP
    assert "the next step would be met only about" in str(found.reason)


def test_one_more_met_trial_never_leads_to_a_lower_step():
    rng = np.random.default_rng(7)
    for _ in range(40):
        letters = "".join(rng.choice(list("mmmx"), size=8))
        assert told(letters + "m", step=2).step >= told(letters, step=2).step, letters


def worth(*by_step):
    """Return what a session at each step of "sit" adds; steps not named add nothing."""
    return np.array([*by_step, *[0.0] * (len(SIT.steps) - len(by_step))])


def test_next_step_that_is_worth_more_is_raised_to_before_the_gate_is_passed():
    assert told("mmmmx").action is Action.KEEP
    found = told("mmmmx", values=worth(0.01, 0.02))
    assert (found.action, found.step) == (Action.RAISE, 1)
    assert "of the time, and gains more for the goal." in str(found.reason)


def test_raise_to_a_step_met_less_than_half_the_time_says_why():
    state = fold(fresh_state([SIT]), trials("m" * 9))
    now = at_moment(state, SIT.key, now=START + timedelta(minutes=30))
    now = replace(now, models=BY_LEVELS)
    found = advise(SIT, 0, now, count("m" * 9))
    assert LEAST_P_BY_LEVELS <= read_step(now, 1).mean < LEAST_P
    assert found.action is Action.RAISE
    assert "seems to get a step all at once; expect about" in str(found.reason)


def test_step_that_is_worth_more_than_the_next_is_kept_though_it_is_sure():
    found = told("m" * 9, values=worth(0.02, 0.01))
    assert found.action is Action.KEEP
    assert "stay here a little longer, it gains more for the goal than the next step would now" in str(found.reason)


def test_easier_step_that_is_worth_clearly_more_is_gone_back_to():
    letters, values = "mmxmxm", worth(0.0, 0.0, 0.02, 0.01)
    found = told(letters, step=3, values=values)
    assert (found.action, found.step) == (Action.LOWER, 2)
    assert "go back a step for a while" in str(found.reason)
    assert told(letters, step=3).action is Action.KEEP


def test_worth_alone_never_raises_beyond_the_band_nor_before_five_trials():
    assert told("mxmxm", step=3, values=worth(0.0, 0.0, 0.0, 0.0, 0.5)).action is Action.KEEP
    assert told("mmmm", values=worth(0.0, 0.5)).action is Action.KEEP


def test_dog_that_learns_level_by_level_may_be_asked_for_what_it_meets_four_times_in_ten():
    state = fold(fresh_state([SIT]), trials("m" * 5))
    now = at_moment(state, SIT.key, now=START + timedelta(minutes=30))
    assert least_success(replace(now, models=BY_SKILL)) == LEAST_P
    assert least_success(replace(now, models=BY_LEVELS)) < 0.4


def test_dimension_named_is_the_one_that_rises_most():
    assert main_dimension(SIT, 2, 3) is Dimension.LATENCY
    assert main_dimension(SIT, 5, 6) is Dimension.DISTRACTION
    same = replace(SIT, steps=(SIT.steps[0], replace(SIT.steps[0], key="again")))
    assert main_dimension(same, 0, 1) is None


def test_number_of_met_trials_until_sure_is_the_fewest_that_suffice():
    for met, missed in ((0, 0), (3, 1), (9, 3), (7, 0)):
        more = n_met_until_sure(log_ratio(met, missed))
        assert log_ratio(met + more, missed) >= UPPER
        assert more == 0 or log_ratio(met + more - 1, missed) < UPPER
    assert n_met_until_sure(0.0) == 7


def test_short_holds_are_met_but_no_full_ones():
    counts = count("sssmmx")
    assert (counts.n_met, counts.n_short, counts.n_missed, counts.misses_in_a_row) == (5, 3, 1, 1)


def raised_of(chance, *, step, n_runs, seed=11):
    """Return the share of runs of up to 40 trials that are raised before they are lowered, the dog not learning."""
    rng = np.random.default_rng(seed)
    n_raised = 0
    for _ in range(n_runs):
        known = know({SIT.key: SIT}, [])
        for i in range(40):
            letter = "m" if rng.random() < chance else "x"
            at = START + timedelta(days=i // 10, seconds=9 * i)
            key = SIT.steps[step].key
            trial = Trial(f"{i}", f"s{i // 10}", at, SIT.key, key, LETTERS[letter], SessionKind.TRAINING)
            known = known.with_trial(trial)
            action = judge_run(SIT, key, known, now=at).action
            if action is not Action.KEEP:
                n_raised += action is Action.RAISE
                break
    return n_raised / n_runs


def test_whole_advice_raises_six_in_ten_less_than_sets_of_five_do_and_nine_in_ten_nearly_always():
    # 0.285 and 0.17 at 0.60 were measured over 200 runs each (docs/science/decision.md); the standard error of 60 is
    # 0.06, and three of them are allowed. Sets of five, repeated until they decide, raise it in 0.52.
    assert raised_of(0.60, step=0, n_runs=60) <= 0.285 + 0.18
    assert raised_of(0.60, step=3, n_runs=60) <= 0.17 + 0.15
    assert raised_of(0.90, step=0, n_runs=40) >= 0.99 - 0.06


def test_unchanging_six_in_ten_is_seldom_raised_by_the_gates():
    """Simulated: 120 runs of up to 40 trials, the dog not learning. Exact for the test alone: 8.6 % in 11.9 trials."""
    rng = np.random.default_rng(11)
    n_raised, n_runs = 0, 120
    for _ in range(n_runs):
        state, counts = fresh_state([SIT]), Counts()
        for i in range(40):
            letter = "m" if rng.random() < 0.6 else "x"
            at = START + timedelta(days=i // 10, seconds=9 * i)
            trial = Trial(f"{i}", f"s{i // 10}", at, SIT.key, SIT.steps[3].key, LETTERS[letter], SessionKind.TRAINING)
            state, counts = fold(state, [trial]), counts.after(letter)
            action = advise(SIT, 3, at_moment(state, SIT.key, now=at), counts).action
            if action is not Action.KEEP:
                n_raised += action is Action.RAISE
                break
    # 0.10 was measured over 300 runs; the standard error of 120 is 0.028, and three of them are allowed.
    assert n_raised / n_runs <= 0.10 + 0.084


@pytest.mark.parametrize("letters", ["", "m", "x", "h"])
def test_hardly_any_trials_give_a_clear_answer(letters):
    found = told(letters)
    assert not found.enough
    assert 0.0 < found.reading.mean < 1.0
