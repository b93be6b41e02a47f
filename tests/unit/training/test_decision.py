"""Raise, keep, lower, pause: what a trainer is told after a trial."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from engine_cases import MAT, START, WAIT, day, hold_trials, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.decision import Action, decide, judge_counts, misses_in_a_row, n_met_to_raise
from pupilage.core.training.evidence import SessionKind

NOW = START + timedelta(minutes=2)


def decided(trials, step="b", *, behaviour=WAIT, session_id=None, now=NOW, **more):
    return decide(behaviour, step, trials, session_id=session_id, now=now, **more)


def at_b(letters, **more):
    return series(letters, step="b", **more)


@pytest.mark.parametrize("letters", ["m" * 8, "mmmxmmmmmm", "xmmmmmxmmmmmmm", "mmxmmmmxmmmmmxmmmm"])
def test_eight_of_eight_nine_of_ten_twelve_of_fourteen_or_fifteen_of_eighteen_raise(letters):
    found = decided(at_b(letters))
    assert (found.action, found.step, found.enough) == (Action.RAISE, "c", True)
    assert str(found.reason) == f"{letters.count('m')} of the last {len(letters)} met: sure enough to raise."


@pytest.mark.parametrize("letters", ["m" * 7, "mmmxmmmmm", "xmmmmmxmmmmmm", "mmxmmmmxmmmmmxmmm"])
def test_one_met_less_keeps_and_says_that_one_more_is_wanted(letters):
    found = decided(at_b(letters))
    assert (found.action, found.step) == (Action.KEEP, "b")
    assert "one more met and it can be raised" in str(found.reason)


def test_kept_step_says_how_many_more_would_carry_a_raise():
    assert (
        str(decided(at_b("mmxmm")).reason)
        == "4 of the last 5 met: stay here, 5 more met in a row and it can be raised."
    )


def test_under_five_trials_it_is_not_enough_yet():
    found = decided(at_b("mmvx"))
    assert (found.action, found.enough) == (Action.KEEP, False)
    assert str(found.reason) == "Not enough yet: has 3 of 5 trials at this step."


def test_three_misses_in_a_row_go_back_at_once():
    found = decided(at_b("mxxx"))
    assert (found.action, found.step, found.enough) == (Action.LOWER, "a", True)
    assert str(found.reason) == "1 of the last 4 met: too hard for now, go back a step."


def test_many_misses_among_met_ones_go_back():
    assert decided(at_b("mxxmxx")).action is Action.LOWER
    assert decided(at_b("mxmxmx")).action is Action.KEEP


def test_five_helped_trials_go_back_for_the_dog_needs_help():
    assert decided(at_b("hhhhh")).action is Action.LOWER


def test_helped_trial_ends_a_row_of_misses_and_a_void_one_does_not():
    assert misses_in_a_row(series("xxhx")) == 1
    assert decided(at_b("xxvx")).action is Action.LOWER
    assert decided(at_b("xxhx")).action is Action.KEEP


def test_first_step_cannot_be_lowered_so_it_pauses_with_advice():
    found = decided(series("xxx"), "a")
    assert (found.action, found.step) == (Action.PAUSE, "a")
    assert "begin again with more help" in str(found.reason)


def test_last_step_is_kept_fresh_instead_of_raised():
    found = decided(series("m" * 9, step="d"), "d")
    assert (found.action, found.step) == (Action.KEEP, "d")
    assert str(found.reason) == "9 of the last 9 met at the last step: at the goal, keep it fresh."


def test_earlier_run_at_the_same_step_is_no_evidence():
    trials = [*at_b("m" * 8), *series("xxx", step="c", start=day(1)), *at_b("mm", start=day(2))]
    found = decided(trials)
    assert found.belief.n == 2
    assert not found.enough


def test_evidence_runs_on_over_sessions():
    found = decided([*at_b("mmmm"), *at_b("mmmm", session="s2", start=day(1))])
    assert found.action is Action.RAISE


def test_probes_are_left_out():
    found = decided([*at_b("mmmm"), *at_b("xxxxx", start=day(1), kind=SessionKind.PROBE)])
    assert (found.belief.n_met, found.belief.n_missed) == (4, 0)


def test_no_trials_at_all_keep_and_say_so():
    found = decided([])
    assert (found.action, found.step, found.enough) == (Action.KEEP, "b", False)


def test_only_the_newest_twenty_count():
    assert decided(at_b("x" + "xxm" * 4 + "m" * 20)).belief.n_met == 20


def test_full_session_pauses_and_still_says_where_to_begin_next_time():
    found = decided(at_b("m" * 15), session_id="s1")
    assert (found.action, found.step) == (Action.PAUSE, "c")
    assert "Next time start at “step c”" in str(found.reason)


def test_session_length_is_asked_of_the_running_session_only():
    assert decided(at_b("m" * 15)).action is Action.RAISE
    assert decided(at_b("m" * 15), session_id="other").action is Action.RAISE
    assert decided(at_b("m" * 15), session_id="s1", now=day(1)).action is Action.RAISE


def test_empty_pouch_pauses_even_before_the_first_trial():
    assert decided([], pieces_left=0).action is Action.PAUSE
    assert decided(at_b("mm"), pieces_left=0, session_id="s1").action is Action.PAUSE
    assert decided(at_b("mm"), pieces_left=1, session_id="s1").action is Action.KEEP


def test_two_misses_after_a_lower_pause():
    trials = [*series("mxxx", step="c"), *at_b("xx", start=START + timedelta(minutes=1))]
    assert decided(trials, session_id="s1").action is Action.PAUSE


def test_short_holds_do_not_raise_a_step_of_thirty_seconds():
    found = decided(hold_trials(*[(5.0, 5.0, False)] * 9), behaviour=MAT)
    assert (found.action, found.step) == (Action.KEEP, "b")
    assert "the full 30 s only 0 of 3 times" in str(found.reason)


def test_three_full_holds_among_the_short_ones_do():
    found = decided(hold_trials(*[(5.0, 5.0, False)] * 5, *[(31.0, 30.0, False)] * 3), behaviour=MAT)
    assert (found.action, found.step) == (Action.RAISE, "c")


def test_hold_scored_without_a_watch_counts_as_judged():
    trials = series("m" * 8, step="b", behaviour=MAT.key)
    assert decided(trials, behaviour=MAT).action is Action.RAISE


def test_order_of_the_trials_given_does_not_matter():
    trials = [*at_b("mxmm"), *at_b("mmm", start=day(1))]
    assert decided(trials[::-1]) == decided(trials)


def test_unknown_step_is_refused_with_those_that_exist():
    with pytest.raises(InvalidInput, match="its steps are a, b, c, d"):
        decided([], "nowhere")


@pytest.mark.parametrize("pieces", [-1, float("nan")])
def test_pieces_that_cannot_be_are_refused(pieces):
    with pytest.raises(InvalidInput, match="pieces_left"):
        decided([], pieces_left=pieces)


def test_naive_instants_are_refused():
    with pytest.raises(InvalidInput, match="now"):
        decided([], now=datetime(2031, 5, 4))  # noqa: DTZ001
    naive = [replace(trial, at=trial.at.replace(tzinfo=None)) for trial in at_b("m")]
    with pytest.raises(InvalidInput, match="no time zone"):
        decided(naive)


def test_latency_that_is_no_number_is_refused():
    with pytest.raises(InvalidInput, match="nan"):
        decided(at_b("m", latencies_s=[float("nan")]))


def test_counts_alone_give_the_same_verdict_as_the_trials():
    assert judge_counts(9, 1, 0) is Action.RAISE
    assert judge_counts(1, 5, 2) is Action.LOWER
    assert judge_counts(4, 1, 0) is None


def test_wanted_number_of_met_trials_lets_old_misses_drop_out():
    assert n_met_to_raise(series("")) == 8
    assert n_met_to_raise(series("x" * 10 + "m" * 10)) == 7  # 17 of the newest 20


def test_wanted_number_is_exactly_what_it_takes():
    letters = "mxhmxmm"
    more = n_met_to_raise(at_b(letters))
    assert decided(at_b(letters + "m" * more)).action is Action.RAISE
    assert decided(at_b(letters + "m" * (more - 1))).action is Action.KEEP
