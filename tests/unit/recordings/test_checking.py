"""What is asked first, what never, and what of a trial keeps it out of the log."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4, uuid5

import pytest

from pupilage.core.recordings.checking import checking_of, hidden_near
from pupilage.core.recordings.counted import CountedTrial, LogWriter, counted_trial, is_settled
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.figures import figures_of
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import fold_trials
from pupilage.core.training.record.events import EventKind as Entry
from pupilage.core.training.record.evidence import Hold, Outcome, TrialSource
from pupilage.core.training.record.fold import fold_session

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
RULES = TrialRules(hold_cues=frozenset({"stay"}))


def event(at_s: float, kind: EventKind, label: str, confidence: float | None = 0.9, **more: object) -> Event:
    behaviour = label if kind is EventKind.CUE else ""
    return Event(at_s, at_s + 0.3, kind, label, confidence, **{"behaviour": behaviour, "id": f"{label} {at_s}", **more})


SOUND = [
    event(1.0, EventKind.CUE, "down", 0.5),
    event(10.0, EventKind.CUE, "sit"),
    event(12.0, EventKind.CUE, "sit", 0.4),
    event(13.0, EventKind.MARKER, "yes", 0.6),
    event(20.0, EventKind.PRAISE, "good", 0.5),
    event(25.0, EventKind.RELEASE, "free", 0.5),
    event(30.0, EventKind.CUE, "sit", 0.1),
    event(31.0, EventKind.CUE, "down", 0.2),
    event(40.0, EventKind.TALK, "", 0.5),
    event(50.0, EventKind.CUE, "down", 0.8, in_talk=True),
]


def test_hollow_markers_and_repeats_come_first_then_cues_then_ends_then_the_rest() -> None:
    assert checking_of(SOUND, RULES).to_check == (
        "sit 12.0", "yes 13.0", "down 1.0", "down 50.0", "free 25.0", "good 20.0",
    )  # fmt: skip


def test_what_is_sure_is_confirmed_together_and_what_is_hidden_is_not_asked() -> None:
    left = checking_of(SOUND, RULES)
    assert left.sure == ("sit 10.0",)
    assert not {"sit 30.0", "down 31.0"} & {*left.to_check, *left.sure}


def test_the_same_order_for_every_order_of_the_events() -> None:
    assert checking_of(SOUND[::-1], RULES) == checking_of(SOUND, RULES)


def test_the_first_class_narrows_the_figures_more_than_the_last() -> None:
    """The rule's reason: praise changes no trial, a marker or a repeat does."""

    def width(events: list[Event]) -> float:
        found = figures_of(events, RULES)
        ranges = (found.n_trials, found.n_marked, found.n_repeats)
        return sum((one.high or 0) - (one.low or 0) for one in ranges)

    def checked(*ids: str) -> list[Event]:
        return [replace(e, state=EventState.CONFIRMED) if e.id in ids else e for e in SOUND]

    order = checking_of(SOUND, RULES).to_check
    assert width(checked(*order[:2])) < width(SOUND)
    assert width(checked(order[-1])) == width(SOUND)


def test_an_empty_place_shows_the_best_three_hidden_ones() -> None:
    hidden = [event(60.0 + n / 10, EventKind.CUE, "sit", 0.05 * (n + 1)) for n in range(5)]
    near = hidden_near([*SOUND, *hidden], 60.2)
    assert [one.confidence for one in near] == pytest.approx([0.25, 0.2, 0.15])
    assert hidden_near(SOUND, 90.0) == []


def test_tries_without_what_the_dog_did_are_asked_for_and_the_marked_ones_named() -> None:
    told = Event(10.001, 10.001, EventKind.OUTCOME, "met", state=EventState.CONFIRMED, id="told")
    left = checking_of([*SOUND, told], RULES)
    assert "sit 10.0" not in left.without_outcome
    marked = checking_of([event(10.0, EventKind.CUE, "sit"), event(11.0, EventKind.MARKER, "yes")], RULES).marked
    assert marked == ("sit 10.0",)


def confirmed(*events: Event) -> list[Event]:
    return [replace(e, state=EventState.CONFIRMED) for e in events]


def test_a_try_is_settled_when_nothing_shown_can_change_it() -> None:
    whole = confirmed(event(10.0, EventKind.CUE, "sit"), event(12.0, EventKind.MARKER, "yes"))
    (trial,) = fold_trials(whole, RULES)
    assert is_settled(trial, whole, RULES)
    for at_s, confidence, settled in ((11.0, 0.4, False), (11.0, 0.1, True), (7.0, 0.4, False), (13.0, 0.4, True)):
        other = event(at_s, EventKind.CUE, "sit", confidence)
        assert is_settled(trial, [*whole, other], RULES) is settled, (at_s, confidence)
    assert is_settled(trial, [*whole, event(11.0, EventKind.PRAISE, "good", 0.4)], RULES)


def test_a_hold_counts_only_with_exact_ends_and_a_latency_never() -> None:
    cue_id = str(uuid4())
    hold = confirmed(
        event(10.0, EventKind.CUE, "stay", id=cue_id),
        Event(10.001, 10.001, EventKind.OUTCOME, "met", id="told"),
        event(16.0, EventKind.RELEASE, "free"),
    )
    (trial,) = fold_trials(hold, RULES)
    counted = counted_trial(trial, NOW, 5.0)
    assert counted is not None
    assert (counted.at, counted.hold) == (NOW + timedelta(seconds=10), Hold(6.0, 5.0, broke=False))
    (vague,) = fold_trials([replace(e, exact=False) for e in hold], RULES)
    found = counted_trial(vague, NOW, 5.0)
    assert found is not None
    assert found.hold is None
    assert counted_trial(fold_trials(hold[:1], RULES)[0], NOW, 5.0) is None, "nobody said what the dog did"


def wanted(n: int, outcome: Outcome = Outcome.MET, hold: Hold | None = None) -> CountedTrial:
    return CountedTrial(uuid5(UUID(int=6), str(n)), NOW + timedelta(seconds=9 * n), "sit", outcome, hold)


def test_any_sequence_of_countings_leaves_exactly_the_tries_that_are_wanted() -> None:
    """Each step writes the difference only: what stands afterwards is what was asked for, in the fold's own words."""
    writer = LogWriter(uuid4(), uuid4(), 60, NOW)
    log = [writer.start({"programme": str(uuid4()), "behaviour": "sit", "step": "first"}, NOW - timedelta(seconds=1))]
    hold = Hold(4.0, 3.0, broke=False)
    steps: list[list[CountedTrial]] = [
        [wanted(1), wanted(2), wanted(3, hold=hold)],
        [wanted(1, Outcome.MISSED), wanted(3, hold=hold)],
        [wanted(1, Outcome.MISSED), wanted(2, Outcome.HELPED), wanted(4)],
        [],
        [wanted(2), wanted(3, hold=hold)],
        [wanted(3, Outcome.HELPED, hold)],
    ]
    for step in steps:
        log += writer.differences(step, log)
        assert writer.differences(step, log) == [], "a second time writes nothing"
        record = fold_session(log)
        assert record is not None
        assert {(t.event_id, t.outcome) for t in record.trials} == {(str(t.id), t.outcome) for t in step}
        assert {t.source for t in record.trials} <= {TrialSource.RECORDED}
    assert len({entry.id for entry in log}) == len(log)


def test_what_a_person_put_right_in_the_session_stays_until_the_recording_says_otherwise() -> None:
    writer = LogWriter(uuid4(), uuid4(), 60, NOW)
    log = [writer.start({"programme": str(uuid4()), "behaviour": "sit", "step": "first"}, NOW)]
    log += writer.differences([wanted(1)], log)
    by_hand = replace(
        log[-1], id=str(uuid4()), device_id=str(uuid4()), kind=Entry.CORRECTED, at=NOW + timedelta(hours=1),
        payload={"event": log[-1].id, "outcome": "void"},
    )  # fmt: skip
    log.append(by_hand)
    assert writer.differences([wanted(1)], log) == []
