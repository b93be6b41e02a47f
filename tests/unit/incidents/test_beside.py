"""The second dog: its own clock, its pays by a variable list, its breaks by cause."""

from datetime import timedelta
from itertools import permutations
from uuid import UUID

import pytest

from engine_cases import START
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.beside import mean_between_s, pay_intervals, pay_multiples, summarise_mat
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.fold import fold_session
from pupilage.core.training.record.mat import BreakCause
from pupilage.core.training.record.seen import Seen, StressSign

SESSION = str(UUID(int=7))


def events_of(*entries, session=SESSION):
    start = {"programme": str(UUID(int=1)), "behaviour": "settle-on-mat", "step": "a", "reinforcer": "dry food"}
    start |= {"pieces": 20, "beside": str(UUID(int=9))}
    told = [(0.0, EventKind.SESSION_STARTED, start), *entries]
    return [
        Event(f"e{n}", "d", n, session, kind, START + timedelta(seconds=at), 0, payload)
        for n, (at, kind, payload) in enumerate(told)
    ]


def hold(n, *, begin, end, broke=False, cause=None, paid=()):
    """Return a hold that is the n-th entry: its start, its pays, its end."""
    ended = {"hold": f"e{n}", "held_s": float(end - begin)} | ({"cause": cause} if cause else {})
    return [
        (begin, EventKind.HOLD_STARTED, {"target_s": 10.0}),
        *((at, EventKind.PAID, {"hold": f"e{n}", "pieces": 1, "interval_s": 4.0}) for at in paid),
        (end, EventKind.HOLD_BROKE if broke else EventKind.HOLD_RELEASED, ended),
    ]


TWO_HOLDS = events_of(
    *hold(1, begin=5, end=20, paid=(9, 15)), *hold(5, begin=30, end=33, broke=True, cause="release-word")
)


def test_pays_and_causes_are_folded_and_come_out_of_the_pouch():
    record = fold_session(TWO_HOLDS)
    assert record is not None
    assert record.beside == str(UUID(int=9))
    assert [(pay.hold, pay.pieces, pay.interval_s) for pay in record.pays] == [("e1", 1, 4.0), ("e1", 1, 4.0)]
    assert record.pieces_left == 18
    assert record.pieces_by == {"dry food": 2}
    assert list(record.causes.values()) == [BreakCause.RELEASE_WORD]
    assert [trial.outcome.value for trial in record.trials] == ["met", "missed"]


def test_any_order_of_arrival_gives_the_same_record():
    events = events_of(*hold(1, begin=5, end=9, paid=(7,)), (12, EventKind.SEEN, {"signs": ["yawn"], "mouth": 1}))
    records = [fold_session(order) for order in permutations(events)]
    assert all(record == records[0] for record in records)
    assert records[0].seen == (Seen("e4", START + timedelta(seconds=12), (StressSign.YAWN,), 1),)


def test_pay_and_sign_that_were_taken_back_do_not_count():
    events = events_of(
        *hold(1, begin=5, end=9, paid=(7,)),
        (12, EventKind.SEEN, {"signs": ["yawn"]}),
        (13, EventKind.WITHDRAWN, {"event": "e4"}),
        (14, EventKind.WITHDRAWN, {"event": "e2"}),
    )
    record = fold_session(events)
    assert (record.seen, record.pays, record.pieces_left) == ((), (), 20)


def test_overview_counts_what_was_written():
    summary = summarise_mat(fold_session(TWO_HOLDS))
    assert (summary.n_holds, summary.n_broke, summary.longest_s, summary.median_s) == (2, 1, 15.0, 9.0)
    assert (summary.n_paid, summary.pieces, summary.between_pays_s) == (2, 2, 6.0)
    assert summary.causes == ((BreakCause.RELEASE_WORD, 1),)
    assert summary.advice is None


def test_cause_of_two_breaks_brings_advice():
    twice = events_of(
        *hold(1, begin=5, end=8, broke=True, cause="release-word"),
        *hold(3, begin=10, end=12, broke=True, cause="pup-near"),
        *hold(5, begin=14, end=16, broke=True, cause="release-word"),
    )
    summary = summarise_mat(fold_session(twice))
    assert summary.causes == ((BreakCause.RELEASE_WORD, 2), (BreakCause.PUP_NEAR, 1))
    assert "name before the release word" in str(summary.advice)


def test_session_without_a_hold_has_no_figures():
    summary = summarise_mat(fold_session(events_of()))
    assert (summary.n_holds, summary.longest_s, summary.between_pays_s, summary.advice) == (0, None, None, None)


@pytest.mark.parametrize(("target_s", "mean_s"), [(0.0, 2.0), (3.0, 2.0), (30.0, 10.0), (600.0, 60.0)])
def test_pays_come_after_a_third_of_the_hold_within_limits(target_s, mean_s):
    assert mean_between_s(target_s) == pytest.approx(mean_s)


def test_list_of_pays_has_its_mean_and_is_the_same_again():
    """Two shuffles of the twelve terms: their mean is the mean of the list, to the tenth they are rounded to."""
    told = pay_intervals(90.0, "session")
    assert len(told) == 24
    assert sum(told) / 24 == pytest.approx(30.0, abs=0.06)
    assert told == pay_intervals(90.0, "session")
    assert told != pay_intervals(90.0, "another")


def test_multiples_are_the_list_without_its_mean():
    """At a mean of 10 s, a list rounded to tenths of a second lies within 0.05 s of its multiples; 1 s is the least."""
    expected = [max(1.0, 10.0 * multiple) for multiple in pay_multiples("session")]
    assert pay_intervals(30.0, "session") == pytest.approx(expected, abs=0.0501)
    assert sum(pay_multiples("session")) == pytest.approx(24.0)


@pytest.mark.parametrize("target_s", [-1.0, float("nan"), float("inf")])
def test_hold_of_no_time_is_refused(target_s):
    with pytest.raises(InvalidInput, match="no duration"):
        mean_between_s(target_s)
