"""The chance of a goal on the hand-over day."""

from datetime import datetime

import pytest

from engine_cases import MAT, WAIT, day, hold_trials, known_of, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.outlook.course import Sessions, spread_sessions
from pupilage.core.training.outlook.forecast import forecast
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.words import percent

NOW = day(8)


def told(trials, target="d", *, left=10, behaviour=WAIT):
    return forecast(behaviour, target, known_of(trials, behaviour), now=NOW, sessions=spread_sessions(left, 10))


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
    assert (found.p, found.low, found.high, found.without_work) == (None, None, None, None)
    assert (found.have, found.need, found.steps_to_go) == (0, 3, 3)
    assert str(found.reason) == "Not enough yet: has 0 of 3 sessions."


def test_two_sessions_are_not_enough_and_three_are():
    assert told(sessions(("a", "mmx"), ("a", "mxm"))).p is None
    assert told(sessions(("a", "mmx"), ("a", "mxm"), ("a", "mm"))).p is not None


def test_steps_to_go_count_from_where_the_next_session_begins():
    assert told(CLIMB).steps_to_go == 1
    assert told(CLIMB, "c").steps_to_go == 0


def test_chance_lies_within_its_range_and_below_certainty():
    found = told(CLIMB)
    assert 0.0 <= found.low <= found.p <= found.high < 1.0


def test_good_record_at_the_goal_is_worth_more_than_a_poor_one():
    good = sessions(("d", "m" * 9), ("d", "m" * 9), ("d", "mm"))
    poor = sessions(("d", "mxmxm"), ("d", "mxmxx"), ("d", "mx"))
    assert told(good, left=0).p > told(poor, left=0).p + 0.3


def test_ten_trials_at_the_goal_are_enough_in_one_session():
    assert told(sessions(("d", "mmmmmmmmm"))).p is None
    assert told(sessions(("d", "mmmmmmmmmm"))).p is not None


def test_more_steps_to_go_lower_the_chance():
    assert told(CLIMB, "d", left=4).p < told(CLIMB, "b", left=4).p


def test_work_is_worth_more_than_none_and_a_session_a_day_more_still_more():
    found = told(CLIMB, left=10)
    assert found.without_work < found.p < found.one_more_a_day <= found.ceiling


def test_ceiling_is_what_ten_coin_tosses_leave_to_a_pup_that_meets_nine_in_ten():
    """P(Bin(10, 0.9) >= 8) = 0.9298 (binomial tables)."""
    assert told([]).ceiling == pytest.approx(0.9298, abs=5e-5)


def test_longer_wait_without_work_leaves_less():
    soon = forecast(WAIT, "c", known_of(CLIMB), now=NOW, sessions=Sessions((0, 0)))
    late = forecast(WAIT, "c", known_of(CLIMB), now=NOW, sessions=Sessions((0,) * 30))
    assert late.p < soon.p


def test_cold_trials_at_the_goal_speak_before_any_training():
    probes = series("mmmmm", step="d", kind=SessionKind.PROBE)
    assert told(probes).p is not None
    assert told(probes).have == 0
    assert told(series("mmmm", step="d", kind=SessionKind.PROBE)).p is None


def test_hold_that_broke_early_counts_against_it():
    full = [(31.0, 30.0, False)] * 12
    steady = told(hold_trials(*full), "b", behaviour=MAT, left=0).p
    broken = told(hold_trials(*full, (4.0, 30.0, True)), "b", behaviour=MAT, left=0).p
    assert broken < steady


def test_step_that_left_the_catalogue_is_passed_over():
    assert told([*CLIMB, *sessions(("gone", "mm"))]).p is not None


def test_reasons_give_the_figures():
    found = told(CLIMB, left=4)
    assert str(found.reason) == (
        f"Steps to go: 1, sessions left: 4. Without another session {percent(found.without_work)},"
        f" with one a day more {percent(found.one_more_a_day)}."
    )
    assert str(told(CLIMB, "c", left=1).reason).startswith("At the goal's step. Sessions left: 1;")
    assert str(told(CLIMB, "c", left=0).reason).startswith("The plan gives it no session; with one a day ")
    last = forecast(WAIT, "c", known_of(CLIMB), now=NOW, sessions=Sessions(()))
    assert str(last.reason).startswith("No session is left before the hand-over")


def test_sessions_that_cannot_be_left_are_refused():
    with pytest.raises(InvalidInput, match="sessions"):
        forecast(WAIT, "d", known_of([]), now=NOW, sessions=Sessions((1, -1)))


def test_unknown_target_and_naive_now_are_refused():
    with pytest.raises(InvalidInput, match="target_step"):
        told([], "nowhere")
    with pytest.raises(InvalidInput, match="now"):
        forecast(WAIT, "d", known_of([]), now=datetime(2031, 5, 4), sessions=Sessions(()))  # noqa: DTZ001
