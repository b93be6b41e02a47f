"""A whole scenario: the same for the same seed, within its days, and only with a catalogue that fits."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import age_weeks
from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario
from pupilage.core.training.record.fold import fold_session

NOON = datetime(2026, 5, 12, 12, 0, tzinfo=UTC)


def generated(catalogue: Catalogue, *, seed: int = 3, now: datetime = NOON) -> Scenario:
    return generate_scenario(seed=seed, now=now, catalogue=catalogue, timezone="Europe/Lisbon")


def test_same_arguments_give_equal_scenarios(catalogue: Catalogue) -> None:
    assert generated(catalogue) == generated(catalogue)


def test_another_seed_gives_another_scenario(catalogue: Catalogue) -> None:
    assert generated(catalogue, seed=3).sessions != generated(catalogue, seed=4).sessions


def test_the_past_does_not_depend_on_the_hour_of_now(catalogue: Catalogue) -> None:
    morning, evening = generated(catalogue), generated(catalogue, now=NOON + timedelta(hours=8))
    assert morning.sessions == evening.sessions
    assert morning.care_events == evening.care_events[: len(morning.care_events)]
    assert len(evening.care_events) > len(morning.care_events)


def test_today_holds_no_session_yet(catalogue: Catalogue) -> None:
    scenario = generated(catalogue)
    assert max(event.at for session in scenario.sessions for event in session) < NOON - timedelta(hours=12)


def test_appointments_never_meet_and_lie_in_the_day(catalogue: Catalogue) -> None:
    for seed in range(30):
        scenario = generated(catalogue, seed=seed)
        ordered = sorted(scenario.appointments, key=lambda one: one.starts_at)
        assert all(first.ends_at <= second.starts_at for first, second in pairwise(ordered))
        assert all(one.starts_at < one.ends_at for one in ordered)
        assert {one.comes_along for one in ordered} == {True, False}


def test_programme_lasts_three_weeks(catalogue: Catalogue) -> None:
    scenario = generated(catalogue)
    assert scenario.handover_on - scenario.arrival_on == timedelta(days=21)


def test_all_missing_keys_are_named_at_once(catalogue: Catalogue) -> None:
    scenario = generated(catalogue)
    behaviour, unwanted = scenario.goals[0].behaviour, scenario.incidents[0].behaviour
    lacking = replace(
        catalogue,
        behaviours={key: b for key, b in catalogue.behaviours.items() if key != behaviour},
        unwanted={key: u for key, u in catalogue.unwanted.items() if key != unwanted},
    )
    with pytest.raises(InvalidInput) as refused:
        generated(lacking)
    assert len(refused.value.problems) == 2
    assert behaviour in str(refused.value)
    assert unwanted in str(refused.value)


def test_a_naive_now_is_refused(catalogue: Catalogue) -> None:
    with pytest.raises(InvalidInput):
        generated(catalogue, now=datetime(2026, 5, 12, 12, 0))  # noqa: DTZ001 - the fault under test


def test_every_goal_is_for_a_pup_of_this_age_with_what_comes_before_it(catalogue: Catalogue) -> None:
    scenario = generated(catalogue)
    goals = {goal.behaviour for goal in scenario.goals}
    for behaviour in (catalogue.behaviours[key] for key in goals):
        assert set(behaviour.prerequisites) <= goals
        assert behaviour.min_age_weeks <= age_weeks(scenario.pup.born_on, scenario.arrival_on)


def test_some_goals_are_well_on_some_stuck_and_one_barely_begun(
    scenarios: list[Scenario], catalogue: Catalogue
) -> None:
    """The way to the target that was gone by the tenth day, on average over twenty scenarios, for each goal."""
    gone: dict[str, list[float]] = defaultdict(list)
    n_sessions: dict[str, list[int]] = defaultdict(list)
    for records in ([fold_session(session) for session in s.sessions] for s in scenarios):
        last = {record.behaviour: record.step for record in records if record}
        counts = Counter(record.behaviour for record in records if record)
        for key, step in last.items():
            behaviour = catalogue.behaviours[key]
            way = [behaviour.step_index(step), behaviour.step_index(behaviour.target)]
            gone[key].append((way[0] or 0) / (way[1] or 1))
            n_sessions[key].append(counts[key])
    means = sorted(sum(shares) / len(shares) for shares in gone.values())
    assert means[-1] > 0.65
    assert means[0] < 0.3
    assert min(max(counts) for counts in n_sessions.values()) <= 2
