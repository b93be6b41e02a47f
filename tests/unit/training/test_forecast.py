"""The chance of a goal on the hand-over day."""

from datetime import datetime

import pytest

from engine_cases import MAT, WAIT, day, hold_trials, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.evidence import SessionKind
from pupilage.core.training.forecast import P_ESTABLISHED, Pace, forecast, pace_of

NOW = day(20)


def told(trials, target="d", *, left=10, behaviour=WAIT):
    return forecast(behaviour, target, trials, now=NOW, sessions_left=left)


def sessions(*rows: tuple[str, str]):
    """Return one training session a row: (step, letters), a day apart."""
    return [
        trial
        for n, (step, letters) in enumerate(rows)
        for trial in series(letters, step=step, session=f"s{n}", start=day(n))
    ]


CLIMB = sessions(("a", "m" * 8), ("b", "m" * 8), ("c", "mmxmm"))


def test_without_trials_it_is_not_enough_yet():
    found = told([])
    assert (found.p, found.low, found.high) == (None, None, None)
    assert (found.have, found.need, found.steps_to_go) == (0, 3, 3)
    assert str(found.reason) == "Not enough yet: has 0 of 3 sessions, steps to go: 3."


def test_two_sessions_are_not_enough_and_three_are():
    assert told(sessions(("a", "mmx"), ("a", "mxm"))).p is None
    assert told(sessions(("a", "mmx"), ("a", "mxm"), ("a", "mm"))).p is not None


def test_steps_to_go_count_from_where_the_next_session_begins():
    assert told(CLIMB).steps_to_go == 1
    assert told(CLIMB, "c").steps_to_go == 0


def test_going_back_counts_once_practice_has_gone_back():
    too_hard = [*CLIMB, *sessions(*[("c", "m")] * 3, ("d", "xxx"))[3:]]
    assert told(too_hard).steps_to_go == 0
    assert told([*too_hard, *series("m", step="c", session="s4", start=day(4))]).steps_to_go == 1


def test_chance_lies_within_its_range():
    found = told(CLIMB)
    assert 0.0 <= found.low <= found.p <= found.high <= 1.0


def test_no_session_left_and_steps_to_go_is_no_chance():
    assert told(CLIMB, left=0).p == 0.0


def test_at_the_target_without_sessions_left_only_the_trials_there_speak():
    good = sessions(("d", "m" * 9), ("d", "m" * 9), ("d", "mm"))
    poor = sessions(("d", "mxmxm"), ("d", "mxmxx"), ("d", "mx"))
    assert told(good, left=0).p > 0.9
    assert told(poor, left=0).p < 0.15


def test_ten_trials_at_the_target_are_enough_in_one_session():
    assert told(sessions(("d", "mmmmmmmmm"))).p is None
    assert told(sessions(("d", "mmmmmmmmmm"))).p is not None


def test_practice_beyond_the_target_is_evidence_for_it():
    beyond = sessions(("c", "mmmmm"), ("d", "mmmmm"), ("d", "m"))
    found = told(beyond, "c", left=0)
    assert found.steps_to_go == 0
    assert "11 of 11 met there" in str(found.reason)


def test_more_steps_to_go_lower_the_chance():
    assert told(CLIMB, "d").p < told(CLIMB, "c").p


def test_quicker_climb_raises_the_chance():
    slow = sessions(*[("a", "mmx")] * 5, ("b", "mmx"))
    quick = sessions(("a", "m" * 8), ("b", "mmx"), ("b", "mmm"))
    assert told(slow, left=6).p < told(quick, left=6).p


def test_unlimited_sessions_lead_to_the_chance_of_an_established_step():
    assert told(CLIMB, left=2000).p == pytest.approx(P_ESTABLISHED, abs=0.01)


def test_cold_trials_at_the_target_speak_before_any_training():
    probes = series("mmmmm", step="d", kind=SessionKind.PROBE)
    assert told(probes).p is not None
    assert told(probes).have == 0
    assert told(series("mmmm", step="d", kind=SessionKind.PROBE)).p is None


def test_cold_trials_set_the_start_but_say_nothing_once_training_began():
    probes = series("mmmmm", step="c", kind=SessionKind.PROBE)
    assert told(probes).steps_to_go == 1
    assert told([*probes, *sessions(("a", "mm"))]).steps_to_go == 3


def test_pace_counts_each_session_by_where_it_led():
    sessions = [[0, 0], [1, 1], [1], [1, 1]]
    assert pace_of(sessions, standing=1) == Pace(1, 2)
    assert pace_of(sessions, standing=2) == Pace(2, 2)
    assert pace_of([], standing=0) == Pace(0, 0)


def test_climbing_back_after_a_lower_is_no_new_step():
    assert pace_of([[1, 1], [0, 0], [1], [1, 1]], standing=1) == Pace(0, 3)


def test_holds_count_by_the_target_s_own_duration():
    short = hold_trials(*[(20.0, 20.0, False)] * 12, step="b")
    full = hold_trials(*[(31.0, 30.0, False)] * 12, step="b")
    assert told(short, "b", behaviour=MAT).p is None
    assert told(full, "b", behaviour=MAT, left=0).p > 0.8


def test_hold_that_broke_early_counts_against_it():
    full = [(31.0, 30.0, False)] * 12
    steady = told(hold_trials(*full), "b", behaviour=MAT, left=0).p
    broken = told(hold_trials(*full, (4.0, 30.0, True)), "b", behaviour=MAT, left=0).p
    assert broken < steady


def test_step_that_left_the_catalogue_is_passed_over():
    assert told([*CLIMB, *sessions(("gone", "mm"))]).p is not None


def test_reasons_give_the_figures():
    assert str(told(CLIMB, left=4).reason) == (
        "Steps to go: 1, sessions left: 4. Sessions that gained a step so far: 2 of 3."
    )
    assert str(told(CLIMB, "c", left=1).reason) == "At the target step: 4 of 5 met there. Sessions left: 1."


@pytest.mark.parametrize("left", [-1, float("nan")])
def test_sessions_that_cannot_be_left_are_refused(left):
    with pytest.raises(InvalidInput, match="sessions_left"):
        told([], left=left)


def test_unknown_target_and_naive_now_are_refused():
    with pytest.raises(InvalidInput, match="target_step"):
        told([], "nowhere")
    with pytest.raises(InvalidInput, match="now"):
        forecast(WAIT, "d", [], now=datetime(2031, 5, 4), sessions_left=1)  # noqa: DTZ001
