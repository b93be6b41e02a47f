"""The fold from a session's events to its trials."""

import itertools
import random
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind
from pupilage.core.training.record.fold import fold_session, in_order, reinforcers_used

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
PHONE = "0b5c0f6e-8f0c-4a54-9c51-1f0f3f1b7a01"
SESSION = "6a1c6c7e-6f5e-4a9e-8a51-0d2f5d0f9c02"
PROGRAMME = "a3a1b5de-0c5b-4d0e-9d0c-5b9f6f1d7e03"


def an_id(n: int) -> str:
    return str(UUID(int=n, version=4))


class Log:
    """Writes events one second apart."""

    def __init__(self, **payload: object) -> None:
        self.events: list[Event] = []
        start = {"programme": PROGRAMME, "behaviour": "sit", "step": "lured", "pieces": 10, "reinforcer": "cheese"}
        self.add(EventKind.SESSION_STARTED, **{**start, **payload})

    def add(self, kind: EventKind, /, **payload: object) -> str:
        n = len(self.events)
        event = Event(an_id(n + 1), PHONE, n, SESSION, kind, START + timedelta(seconds=n), 0, payload)
        self.events.append(event)
        return event.id

    def trial(self, outcome: str, **payload: object) -> str:
        return self.add(EventKind.TRIAL, outcome=outcome, **payload)


def outcomes(events: list[Event]) -> list[str]:
    record = fold_session(events)
    assert record is not None
    return [trial.outcome.value for trial in record.trials]


def test_session_without_its_start_has_no_record() -> None:
    log = Log()
    log.trial("met")
    assert fold_session(log.events[1:]) is None


def test_trials_keep_the_step_at_which_they_were_tried() -> None:
    log = Log()
    log.trial("met")
    log.add(EventKind.STEP_CHANGED, step="by-hand")
    log.trial("missed")
    record = fold_session(log.events)
    assert record is not None
    assert [(t.step, t.outcome) for t in record.trials] == [("lured", Outcome.MET), ("by-hand", Outcome.MISSED)]
    assert record.step == "by-hand"


def test_withdrawn_trial_counts_no_more_and_its_pieces_are_back_in_the_pouch() -> None:
    log = Log()
    log.trial("met", pieces=1)
    wrong = log.trial("met", pieces=2)
    log.add(EventKind.WITHDRAWN, event=wrong)
    record = fold_session(log.events)
    assert record is not None
    assert len(record.trials) == 1
    assert record.pieces_left == 9


def test_taking_back_a_withdrawal_restores_the_trial() -> None:
    log = Log()
    trial = log.trial("met")
    withdrawal = log.add(EventKind.WITHDRAWN, event=trial)
    log.add(EventKind.WITHDRAWN, event=withdrawal)
    assert outcomes(log.events) == ["met"]


def test_start_of_a_session_cannot_be_taken_back() -> None:
    log = Log()
    log.trial("met")
    log.add(EventKind.WITHDRAWN, event=log.events[0].id)
    assert outcomes(log.events) == ["met"]


def test_newest_correction_wins_and_the_log_keeps_both() -> None:
    log = Log()
    trial = log.trial("met")
    log.add(EventKind.CORRECTED, event=trial, outcome="missed")
    log.add(EventKind.CORRECTED, event=trial, outcome="helped")
    assert outcomes(log.events) == ["helped"]
    assert len(log.events) == 4


def test_withdrawn_correction_leaves_the_first_outcome() -> None:
    log = Log()
    trial = log.trial("met")
    correction = log.add(EventKind.CORRECTED, event=trial, outcome="missed")
    log.add(EventKind.WITHDRAWN, event=correction)
    assert outcomes(log.events) == ["met"]


@pytest.mark.parametrize(
    ("kind", "held_s", "outcome"),
    [
        (EventKind.HOLD_RELEASED, 5.0, "met"),
        (EventKind.HOLD_RELEASED, 4.9, "void"),
        (EventKind.HOLD_BROKE, 4.9, "missed"),
        (EventKind.HOLD_BROKE, 5.0, "met"),
    ],
)
def test_outcome_of_a_hold_follows_from_its_times(kind: EventKind, held_s: float, outcome: str) -> None:
    log = Log(behaviour="settle", step="first")
    start = log.add(EventKind.HOLD_STARTED, target_s=5.0)
    log.add(kind, hold=start, held_s=held_s)
    record = fold_session(log.events)
    assert record is not None
    assert record.trials[0].outcome.value == outcome
    hold = record.trials[0].hold
    assert hold is not None
    assert (hold.held_s, hold.target_s, hold.broke) == (held_s, 5.0, kind is EventKind.HOLD_BROKE)
    assert record.open_hold is None


def test_running_hold_is_open_until_it_ends_or_is_taken_back() -> None:
    log = Log(behaviour="settle", step="first")
    start = log.add(EventKind.HOLD_STARTED, target_s=5.0)
    record = fold_session(log.events)
    assert record is not None
    assert record.open_hold is not None
    assert record.open_hold.id == start
    log.add(EventKind.WITHDRAWN, event=start)
    record = fold_session(log.events)
    assert record is not None
    assert record.open_hold is None


def test_end_of_a_hold_that_was_ended_on_another_phone_is_not_a_second_trial() -> None:
    log = Log(behaviour="settle", step="first")
    start = log.add(EventKind.HOLD_STARTED, target_s=5.0)
    log.add(EventKind.HOLD_RELEASED, hold=start, held_s=6.0)
    log.add(EventKind.HOLD_BROKE, hold=start, held_s=6.5)
    assert outcomes(log.events) == ["met"]


def test_withdrawing_the_end_opens_the_session_again() -> None:
    log = Log()
    end = log.add(EventKind.SESSION_ENDED)
    record = fold_session(log.events)
    assert record is not None
    assert record.ended_at is not None
    log.add(EventKind.WITHDRAWN, event=end)
    record = fold_session(log.events)
    assert record is not None
    assert record.ended_at is None


def test_probe_is_marked_as_such_in_every_trial() -> None:
    log = Log(kind="probe")
    log.trial("met")
    record = fold_session(log.events)
    assert record is not None
    assert record.kind is SessionKind.PROBE
    assert record.trials[0].kind is SessionKind.PROBE


def test_pouch_never_holds_less_than_nothing() -> None:
    log = Log(pieces=1)
    log.trial("met", pieces=1)
    log.trial("met", pieces=1)
    record = fold_session(log.events)
    assert record is not None
    assert record.pieces_left == 0


def test_events_of_one_instant_are_ordered_by_device_and_sequence() -> None:
    at = START
    events = [
        Event(an_id(9), "b", 1, SESSION, EventKind.NOTE, at, 0, {"text": "b1"}),
        Event(an_id(8), "a", 2, SESSION, EventKind.NOTE, at, 0, {"text": "a2"}),
        Event(an_id(7), "a", 1, SESSION, EventKind.NOTE, at, 0, {"text": "a1"}),
    ]
    assert [event.payload["text"] for event in in_order(events)] == ["a1", "a2", "b1"]


KINDS = st.sampled_from(["met", "missed", "helped", "void", "undo", "correct", "hold", "break", "step", "end"])


def a_log(moves: list[str]) -> list[Event]:
    log = Log()
    for move in moves:
        last = log.events[-1].id
        if move == "undo":
            log.add(EventKind.WITHDRAWN, event=last)
        elif move == "correct":
            log.add(EventKind.CORRECTED, event=last, outcome="missed")
        elif move == "hold":
            log.add(EventKind.HOLD_STARTED, target_s=2.0)
        elif move == "break":
            log.add(EventKind.HOLD_BROKE, hold=last, held_s=1.0)
        elif move == "step":
            log.add(EventKind.STEP_CHANGED, step="by-hand")
        elif move == "end":
            log.add(EventKind.SESSION_ENDED)
        else:
            log.trial(move, pieces=1)
    return log.events


@given(moves=st.lists(KINDS, max_size=20), seed=st.integers(0, 2**16))
def test_any_order_of_arrival_gives_the_same_record(moves: list[str], seed: int) -> None:
    events = a_log(moves)
    shuffled = random.Random(seed).sample(events, len(events))
    assert fold_session(shuffled) == fold_session(events)


@given(moves=st.lists(KINDS, max_size=20))
def test_events_that_arrive_twice_count_once(moves: list[str]) -> None:
    events = a_log(moves)
    doubled = list(itertools.chain.from_iterable((event, event) for event in events))
    assert fold_session(doubled) == fold_session(events)


@given(moves=st.lists(KINDS, max_size=20))
def test_pieces_given_and_left_add_up_to_the_pouch(moves: list[str]) -> None:
    record = fold_session(a_log(moves))
    assert record is not None
    given_out = sum(trial.pieces for trial in record.trials)
    assert record.pieces_left == max(0, 10 - given_out)


def test_reinforcer_is_the_one_in_the_pouch_then_and_taken_back_changes_do_not_stand() -> None:
    log = Log()
    log.trial("met")
    log.add(EventKind.REINFORCER_CHANGED, reinforcer="liver", pieces=5)
    wrong = log.add(EventKind.REINFORCER_CHANGED, reinforcer="kibble", pieces=5)
    log.add(EventKind.WITHDRAWN, event=wrong)
    used = reinforcers_used(reversed(log.events))
    assert used == [(START, "cheese"), (START + timedelta(seconds=2), "liver")]
    assert reinforcers_used(log.events[1:]) == []


def test_pieces_are_counted_for_the_reinforcer_that_was_in_the_pouch() -> None:
    log = Log()
    log.trial("met", pieces=2)
    taken_back = log.trial("met", pieces=4)
    log.add(EventKind.REINFORCER_CHANGED, reinforcer="liver", pieces=5)
    log.trial("met", pieces=1)
    log.trial("missed", pieces=0)
    log.add(EventKind.WITHDRAWN, event=taken_back)
    record = fold_session(log.events)
    assert record is not None
    assert record.pieces_by == {"cheese": 2, "liver": 1}
    assert sum(record.pieces_by.values()) == sum(trial.pieces for trial in record.trials)


def test_session_keeps_who_and_where_and_says_neither_when_nobody_did() -> None:
    named, unnamed = fold_session(Log(handler="Wren", place=" park ").events), fold_session(Log().events)
    assert named is not None
    assert unnamed is not None
    assert (named.handler, named.place) == ("Wren", "park")
    assert (unnamed.handler, unnamed.place) == ("", "")
