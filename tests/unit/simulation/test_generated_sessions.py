"""The sessions of a scenario: cold probes first, then short training with a thumb that slips now and then."""

from collections import Counter
from datetime import datetime, timedelta
from itertools import pairwise

import pytest

from pupilage.core.catalogue.behaviour import Catalogue, Scoring
from pupilage.core.clock import find_zone, local_day
from pupilage.core.simulation.scenario import Scenario
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind
from pupilage.core.training.record.fold import SessionRecord, fold_session

ZONE = find_zone("Europe/Lisbon")


def record_of(events: list[Event]) -> SessionRecord:
    record = fold_session(events)
    assert record is not None
    return record


def records(scenario: Scenario) -> list[SessionRecord]:
    return [record_of(list(events)) for events in scenario.sessions]


def all_events(scenario: Scenario) -> list[Event]:
    return [event for session in scenario.sessions for event in session]


def test_every_session_folds_to_a_closed_record_with_trials(scenarios: list[Scenario]) -> None:
    for record in (r for s in scenarios for r in records(s)):
        assert record.ended_at is not None
        assert record.trials
        assert record.open_hold is None
        assert record.pieces_left is not None


def test_goals_and_sessions_name_steps_of_the_catalogue(scenarios: list[Scenario], catalogue: Catalogue) -> None:
    for scenario in scenarios:
        assert all(catalogue.behaviours[goal.behaviour].step(goal.step) for goal in scenario.goals)
        for record in records(scenario):
            behaviour = catalogue.behaviours[record.behaviour]
            assert all(behaviour.step(trial.step) for trial in record.trials)


def test_there_are_eight_to_ten_goals_with_weights(scenario: Scenario) -> None:
    assert 8 <= len({goal.behaviour for goal in scenario.goals}) == len(scenario.goals) <= 10
    assert all(1 <= goal.weight <= 5 for goal in scenario.goals)


def test_first_two_days_hold_one_cold_probe_for_each_goal(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        probes = [r for r in records(scenario) if r.kind is SessionKind.PROBE]
        assert sorted(r.behaviour for r in probes) == sorted(goal.behaviour for goal in scenario.goals)
        days = {(local_day(r.started_at, ZONE) - scenario.arrival_on).days for r in probes}
        assert days == {0, 1}


def test_probes_are_marked_cold_and_nobody_helps(scenario: Scenario) -> None:
    starts = [session[0] for session in scenario.sessions]
    assert all(start.payload["cold"] == (start.payload["kind"] == "probe") for start in starts)
    outcomes = {t.outcome for r in records(scenario) if r.kind is SessionKind.PROBE for t in r.trials}
    assert outcomes <= {Outcome.MET, Outcome.MISSED, Outcome.VOID}


def test_training_days_have_three_to_five_sessions(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        trained = [r for r in records(scenario) if r.kind is SessionKind.TRAINING]
        per_day = Counter((local_day(r.started_at, ZONE) - scenario.arrival_on).days for r in trained)
        assert sorted(per_day) == list(range(2, 10))
        assert all(3 <= n <= 5 for n in per_day.values())


def test_training_sessions_are_short(scenarios: list[Scenario], catalogue: Catalogue) -> None:
    """8 to 15 trials in five minutes, or 4 to 8 holds in twelve."""
    for record in (r for s in scenarios for r in records(s) if r.kind is SessionKind.TRAINING):
        timed = catalogue.behaviours[record.behaviour].scoring is Scoring.HOLD
        low, high, most_min = (4, 8, 12) if timed else (8, 15, 5)
        assert low <= len(record.trials) <= high
        assert record.ended_at is not None
        assert record.ended_at - record.started_at <= timedelta(minutes=most_min)


def test_instants_rise_within_a_session_and_sessions_do_not_overlap(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        assert all(first.at < second.at for first, second in pairwise(all_events(scenario)))


def test_one_phone_numbers_all_events_without_a_gap(scenario: Scenario) -> None:
    events = all_events(scenario)
    assert len({event.device_id for event in events}) == 1
    assert [event.device_seq for event in events] == list(range(1, len(events) + 1))
    assert len({event.id for event in events}) == len(events)
    assert len({event.session_id for event in events}) == len(scenario.sessions)


def test_holds_last_from_their_start_to_their_end(scenarios: list[Scenario]) -> None:
    for session in (session for s in scenarios for session in s.sessions):
        starts = {event.id: event for event in session if event.kind is EventKind.HOLD_STARTED}
        for end in (e for e in session if e.kind in (EventKind.HOLD_BROKE, EventKind.HOLD_RELEASED)):
            held_s = (end.at - starts[end.payload["hold"]].at).total_seconds()
            assert end.payload["held_s"] == pytest.approx(held_s, abs=1e-9)


def test_a_hold_that_broke_did_not_reach_its_target(scenarios: list[Scenario]) -> None:
    holds = [t.hold for s in scenarios for r in records(s) for t in r.trials if t.hold]
    assert all(hold.held_s < hold.target_s for hold in holds if hold.broke)


def test_every_slip_is_put_right_within_seconds(scenarios: list[Scenario]) -> None:
    for session in (session for s in scenarios for session in s.sessions):
        by_id: dict[str, datetime] = {event.id: event.at for event in session}
        for event in session:
            if event.kind in (EventKind.WITHDRAWN, EventKind.CORRECTED):
                assert event.at - by_id[event.payload["event"]] <= timedelta(seconds=5)


def test_each_kind_of_entry_occurs(scenarios: list[Scenario]) -> None:
    kinds = {event.kind for scenario in scenarios for event in all_events(scenario)}
    by_hand = {EventKind.PAID, EventKind.SEEN}  # a second dog's mat, and what a person sees: not in the scenario
    assert kinds == set(EventKind) - by_hand
    outcomes = {t.outcome for s in scenarios for r in records(s) for t in r.trials}
    assert outcomes == set(Outcome)


def test_no_more_pieces_are_given_than_were_in_the_pouch(scenarios: list[Scenario]) -> None:
    for session in (session for s in scenarios for session in s.sessions):
        left = 0
        for event in session:
            if event.kind in (EventKind.SESSION_STARTED, EventKind.REINFORCER_CHANGED):
                left = event.payload["pieces"]
            else:
                left -= event.payload.get("pieces", 0)
            assert left >= 0


def test_reinforcers_are_those_of_the_scenario(scenario: Scenario) -> None:
    names = {r.name for r in scenario.reinforcers}
    assert {r.reinforcer for r in records(scenario)} <= names


def test_training_is_mostly_neither_hopeless_nor_too_easy(scenarios: list[Scenario]) -> None:
    """Of the training sessions of twenty scenarios most have between half and nearly all tries met."""
    shares = []
    for record in (r for s in scenarios for r in records(s) if r.kind is SessionKind.TRAINING):
        scored = [t for t in record.trials if t.outcome is not Outcome.VOID]
        shares.append(sum(t.outcome is Outcome.MET for t in scored) / len(scored))
    assert sum(0.5 <= share <= 0.95 for share in shares) / len(shares) > 0.6
    assert 0.6 < sum(shares) / len(shares) < 0.9


def test_latency_stays_within_what_the_step_allows(scenarios: list[Scenario], catalogue: Catalogue) -> None:
    for trial in (t for s in scenarios for r in records(s) for t in r.trials if t.latency_s is not None):
        step = catalogue.behaviours[trial.behaviour].step(trial.step)
        assert step is not None
        assert 0.0 < trial.latency_s <= (step.criterion.latency_s or 10.0)
