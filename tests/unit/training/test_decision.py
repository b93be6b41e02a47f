"""Raise, keep, lower, pause: what a trainer is told after a trial."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from engine_cases import MAT, START, WAIT, day, hold_trials, known_of, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.decision import Action, count_run, decide
from pupilage.core.training.record.evidence import SessionKind

NOW = START + timedelta(minutes=2)


def decided(trials, step="b", *, behaviour=WAIT, session_id=None, now=NOW, **more):
    return decide(behaviour, step, known_of(trials, behaviour), session_id=session_id, now=now, **more)


def at_b(letters, **more):
    return series(letters, step="b", **more)


@pytest.mark.parametrize("letters", ["m" * 7, "mmmxmmmmmmm", "xmmmmmxmmmmmmmm"])
def test_sequential_test_at_its_limit_raises_with_the_chance_of_the_next_step(letters):
    found = decided(at_b(letters))
    assert (found.action, found.step, found.enough) == (Action.RAISE, "c", True)
    assert str(found.reason).startswith(f"{letters.count('m')} of {len(letters)} met, and the next step should be met")


@pytest.mark.parametrize("letters", ["m" * 6, "mmmxmmmmmm", "xmmmmmxmmmmm"])
def test_less_keeps_and_says_how_many_more_would_carry_a_raise(letters):
    found = decided(at_b(letters))
    assert (found.action, found.step) == (Action.KEEP, "b")
    assert "more met" in str(found.reason)
    more = 1 if "one more met" in str(found.reason) else int(str(found.reason).split("at most ")[1].split()[0])
    assert decided(at_b(letters + "m" * more)).action is Action.RAISE


def test_under_five_trials_it_is_not_enough_yet():
    found = decided(at_b("mmvx"))
    assert (found.action, found.enough) == (Action.KEEP, False)
    assert str(found.reason) == "Not enough yet: has 3 of 5 trials at this step."


def test_three_misses_in_a_row_go_back_at_once():
    found = decided(at_b("mxxx"))
    assert (found.action, found.step, found.enough) == (Action.LOWER, "a", True)
    assert str(found.reason) == "3 misses in a row: too hard for now, go back a step."


def test_many_misses_among_met_ones_go_back():
    assert decided(at_b("mxxmxxmxxx"[:9])).action is Action.LOWER
    assert decided(at_b("mxmmxm")).action is Action.KEEP


def test_many_helped_trials_go_back_for_the_dog_needs_help():
    assert decided(at_b("hhhhhhh")).action is Action.LOWER


def test_helped_trial_ends_a_row_of_misses_and_a_void_one_does_not():
    assert count_run(series("xxhx"), 0.0).misses_in_a_row == 1
    assert decided(at_b("xxvx")).action is Action.LOWER


def test_first_step_cannot_be_lowered_so_it_pauses_with_advice():
    found = decided(series("xxx"), "a")
    assert (found.action, found.step) == (Action.PAUSE, "a")
    assert "begin again with more help" in str(found.reason)


def test_last_step_is_kept_fresh_instead_of_raised():
    found = decided(series("m" * 9, step="d"), "d")
    assert (found.action, found.step) == (Action.KEEP, "d")
    assert str(found.reason) == "9 of 9 met: at the goal, keep it fresh."


def test_counts_are_those_of_the_current_run_only():
    trials = [*at_b("m" * 8), *series("xxx", step="c", start=day(1)), *at_b("mm", start=day(2))]
    assert decided(trials, now=day(2)).reading.n == 2


def test_run_goes_on_over_sessions():
    found = decided([*at_b("mmmm"), *at_b("mmmm", session="s2", start=day(1))], now=day(1))
    assert found.action is Action.RAISE


def test_probes_are_no_part_of_the_run_but_tell_of_the_dog():
    training = at_b("mmmm")
    poor = decided([*training, *at_b("xxxxx", start=day(1), kind=SessionKind.PROBE)], now=day(1))
    good = decided([*training, *at_b("mmmmm", start=day(1), kind=SessionKind.PROBE)], now=day(1))
    assert (poor.reading.n_met, poor.reading.n_missed) == (4, 0)
    assert poor.reading.mean < good.reading.mean


def test_no_trials_at_all_keep_and_say_so():
    found = decided([])
    assert (found.action, found.step, found.enough) == (Action.KEEP, "b", False)


def test_misses_of_long_ago_do_not_bury_what_the_dog_has_learned_since():
    letters = "xxmxxmxxmxxm" + "m" * 12
    assert decided(at_b(letters)).action is Action.RAISE


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
    assert "the full duration only 0 of 3 times" in str(found.reason)


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


def test_thousand_trials_in_one_session_are_answered():
    found = decided(series("mmmx" * 250, step="b", every_s=2.0), now=START + timedelta(hours=1))
    assert 0.5 < found.reading.mean < 1.0


def test_gap_of_a_year_leaves_a_dog_that_has_forgotten_most():
    trials = at_b("m" * 12)
    assert decided(trials, now=day(365)).reading.mean < decided(trials).reading.mean - 0.1


def test_step_of_a_deleted_catalogue_entry_is_passed_over():
    assert decided([*series("m" * 9, step="gone"), *at_b("mm", start=day(1))], now=day(1)).reading.n == 2


def test_goal_nearer_than_the_last_step_is_what_counts():
    five_days = [trial for n in range(5) for trial in at_b("m" * 9, start=day(n), session=f"s{n}")]
    assert decided(five_days, target="a", now=day(5)).action is Action.KEEP
    assert decided(five_days, target="d", now=day(5)).action is Action.RAISE
    with pytest.raises(InvalidInput, match="target"):
        decided([], target="nowhere")
