"""Who is in the scenario: a pup of an age and weight that a trainer would believe."""

import numpy as np
import pytest

from pupilage.core.clock import age_weeks
from pupilage.core.simulation.people import FOOD_KCAL_PER_100G, ration_g
from pupilage.core.simulation.scenario import Scenario
from pupilage.core.units import require_weight_kg


def test_ration_is_three_times_the_resting_energy() -> None:
    """Source: 210 kcal per kg^0.75 at 5 kg is 702.2 kcal (VN Journal 37(4), 2022, Table 2); to the nearest 5 g."""
    assert ration_g(5.0) * FOOD_KCAL_PER_100G / 100.0 == pytest.approx(702.2, abs=0.025 * FOOD_KCAL_PER_100G)


def test_pup_is_nine_to_ten_weeks_old_on_arrival(scenarios: list[Scenario]) -> None:
    assert all(9.0 <= age_weeks(s.pup.born_on, s.arrival_on) <= 10.0 for s in scenarios)


def test_pup_gains_weight_between_weighings(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        weights = [require_weight_kg(kg) for _, kg in scenario.pup.weights]
        assert 2 <= len(weights) <= 3
        assert np.all(np.diff(weights) > 0)
        assert weights[-1] < 0.5 * (scenario.pup.expected_adult_weight_kg or 0.0)


def test_resident_is_a_grown_dog_with_another_name(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        assert scenario.resident is not None
        assert scenario.resident.resident
        assert not scenario.pup.resident
        assert age_weeks(scenario.resident.born_on, scenario.arrival_on) > 3 * 52
        assert scenario.resident.name != scenario.pup.name


def test_two_of_four_reinforcers_come_from_the_ration(scenario: Scenario) -> None:
    assert [r.from_ration for r in scenario.reinforcers] == [True, True, False, False]
    assert all(0.1 <= r.piece_g <= 1.0 and 50 <= r.kcal_per_100g <= 500 for r in scenario.reinforcers)


def test_the_veterinarian_says_when_the_pup_is_vaccinated(scenario: Scenario) -> None:
    assert any("as the veterinarian said" in date.what for date in scenario.vet_dates)
    assert all(scenario.arrival_on <= date.on <= scenario.handover_on for date in scenario.vet_dates)
