"""The log of exposures of a scenario: as a trainer who follows the proposals would have it, with two mishaps."""

from datetime import datetime, timedelta

from pupilage.core.care.exposures.judging import ItemState, judge_exposures
from pupilage.core.care.exposures.loading import load_exposures
from pupilage.core.care.exposures.log import Exposure
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import find_zone, local_day
from pupilage.core.simulation.exposure_log import HEALTH_CHECK_DAY, MISHAPS
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario

ZONE = find_zone("Europe/Lisbon")


def meetings(scenario: Scenario) -> list[Exposure]:
    return [one for one in scenario.exposures if isinstance(one, Exposure)]


def now_of(scenario: Scenario) -> datetime:
    """Return noon of the last day of the scenario."""
    return datetime.combine(scenario.arrival_on + timedelta(days=10), datetime.min.time(), ZONE) + timedelta(hours=12)


def test_two_items_are_held_back_and_no_fear_spreads(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        found = judge_exposures(scenario.exposures, load_exposures(), now=now_of(scenario), zone=ZONE)
        held = {one.item.key for one in found.standings if one.state is ItemState.HELD_BACK}
        assert held == {mishap.item for mishap in MISHAPS}
        assert not found.afraid_of
        assert not any(one.state is ItemState.REFERRED for one in found.standings)


def test_a_third_to_a_half_of_the_list_was_met(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        assert 18 <= len({one.item for one in meetings(scenario)}) <= 36


def test_health_check_day_holds_no_meeting(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        days = {(local_day(one.at, ZONE) - scenario.arrival_on).days for one in meetings(scenario)}
        assert HEALTH_CHECK_DAY not in days
        assert len(days) >= 8


def test_entries_stand_in_time_order_by_day_and_have_ids_of_their_own(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        instants = [one.at for one in scenario.exposures]
        assert instants == sorted(instants)
        assert len({one.id for one in scenario.exposures}) == len(scenario.exposures)


def test_past_does_not_depend_on_the_hour_of_now(catalogue: Catalogue, scenario: Scenario) -> None:
    later = now_of(scenario) + timedelta(hours=9)
    evening = generate_scenario(seed=7, now=later, catalogue=catalogue, timezone="Europe/Lisbon")
    assert list(scenario.exposures) == list(evening.exposures)[: len(scenario.exposures)]
