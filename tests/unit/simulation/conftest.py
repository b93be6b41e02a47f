"""The catalogue that the scenario is about, and a moment at which it is looked at."""

from datetime import UTC, datetime

import pytest

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario

NOW = datetime(2026, 5, 12, 10, 20, tzinfo=UTC)


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_bundled()


@pytest.fixture(scope="session")
def scenarios(catalogue: Catalogue) -> list[Scenario]:
    """Twenty scenarios, for what holds on average."""
    return [generate_scenario(seed=seed, now=NOW, catalogue=catalogue, timezone="Europe/Lisbon") for seed in range(20)]


@pytest.fixture(scope="session")
def scenario(scenarios: list[Scenario]) -> Scenario:
    return scenarios[7]
