"""The plan of a session: only when sure at the goal, the same after a reload and an undo, and met offline."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from engine_cases import MAT, WAIT, day, series
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import N_BINS, Reading
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial
from pupilage.core.training.rewards import paying
from pupilage.core.training.rewards.paying import LOOK_AHEAD, plan_pay


def sure_trials(days=6):
    """Return the record of a dog that meets every try, its fourth step reached and kept."""
    steps = [*"abc", *"d" * (days - 3)]
    found = []
    for n, step in enumerate(steps):
        found += [replace(t, pieces=1) for t in series("m" * 10, step=step, session=f"s{n}", start=day(n))]
    return found


def plan(trials, *, session="now", step="d", n_days=6, behaviour=WAIT, **more):
    known = know({behaviour.key: behaviour}, trials)
    return plan_pay(behaviour, known, session_id=session, step=step, started_at=day(n_days), **more)


def tries(letters, *, session="now", n_days=6):
    return series(letters, step="d", session=session, start=day(n_days))


def test_sure_behaviour_gets_a_list_that_looks_ahead():
    found = plan(sure_trials())
    assert found.ratio == 1.5
    assert len(found.paid) == LOOK_AHEAD
    assert found.next_paid == found.paid[0]
    assert 0.6 <= sum(found.paid) / LOOK_AHEAD <= 0.72


def test_next_one_follows_from_the_number_met_and_undo_brings_it_back():
    base = sure_trials()
    start = plan(base)
    for n in range(8):
        assert plan([*base, *tries("m" * n)]).next_paid == start.paid[n]
    assert plan([*base, *tries("mmm")]).paid == start.paid
    assert plan([*base, *tries("mmx")]).next_paid == start.paid[2]
    assert plan([*base, *tries("mm")]).next_paid == plan([*base, *tries("mmm")[:2]]).next_paid


def test_other_sessions_have_other_lists():
    assert len({plan(sure_trials(), session=f"n{n}").paid for n in range(20)}) > 10


def test_no_list_below_the_goal_or_while_it_is_not_sure():
    assert plan(sure_trials(), step="c") is None
    assert plan([]) is None
    shaky = [*sure_trials(5), *tries("mxmxxmxmxx", session="s5", n_days=5)]
    assert plan(shaky) is None


def test_misses_in_the_session_end_the_list_at_once_and_taking_them_back_restores_it():
    base = sure_trials()
    assert plan([*base, *tries("mmxxx")]) is None
    assert plan([*base, *tries("mmxx")]).paid == plan(base).paid


def test_probe_is_no_part_of_the_list():
    probe = [replace(t, kind=SessionKind.PROBE) for t in tries("mmm")]
    assert plan([*sure_trials(), *probe]).next_paid == plan(sure_trials()).paid[0]


def hold(n, *, session, n_day, step, held_s):
    target_s = next(s for s in MAT.steps if s.key == step).criterion.duration_s
    at = day(n_day) + timedelta(minutes=3 * n)
    held = Hold(held_s, target_s, broke=False)
    return Trial(f"{session}-{n}", session, at, MAT.key, step, Outcome.MET, SessionKind.TRAINING, hold=held, pieces=1)


@pytest.fixture(scope="module")
def settled():
    steps = [*"aabbb", *"cccccc"]
    held = {"a": 5.0, "b": 30.0, "c": 120.0}
    return [
        hold(i, session=f"h{n}", n_day=n, step=step, held_s=held[step])
        for n, step in enumerate(steps)
        for i in range(8)
    ]


def test_holds_are_paid_once_enough_seconds_were_held(settled):
    first = plan(settled, behaviour=MAT, step="c", n_days=12, next_hold_s=120.0)
    assert first is not None
    assert first.paid == ()
    again, paid, record = [], [], list(settled)
    for n in range(30):
        found = plan(record, behaviour=MAT, step="c", n_days=12, next_hold_s=120.0)
        paid.append(found.next_paid)
        record.append(hold(n, session="now", n_day=12, step="c", held_s=120.0))
        again.append(plan(record[:-1], behaviour=MAT, step="c", n_days=12, next_hold_s=120.0).next_paid)
    assert paid == again
    assert sum(paid) / len(paid) == pytest.approx(1.0 / first.ratio, abs=0.12)


@pytest.mark.parametrize(
    ("mean", "chance", "sure"), [(0.804, 0.854, True), (0.796, 0.9, False), (0.804, 0.846, False), (0.9, 0.854, True)]
)
def test_sure_is_eight_in_ten_expected_and_three_in_four_all_but_certain(monkeypatch, mean, chance, sure):
    # Half a bin of 0.005 above 0.75 the chance lies with `chance`, below it otherwise.
    mass = np.zeros(N_BINS)
    mass[round(0.755 * N_BINS)], mass[round(0.745 * N_BINS)] = chance, 1.0 - chance
    monkeypatch.setattr(paying, "read_step", lambda now, goal, tired: Reading(mean, mass=mass))
    assert paying.is_sure(None, 3) is sure
