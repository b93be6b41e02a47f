"""The incidents of a scenario, and the pattern that is hidden in them."""

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import find_zone
from pupilage.core.simulation.scenario import Scenario

ZONE = find_zone("Europe/Lisbon")


def test_there_are_eight_to_fourteen(scenarios: list[Scenario]) -> None:
    happened = [[i for i in scenario.incidents if not i.left_it] for scenario in scenarios]
    assert all(8 <= len(incidents) <= 14 for incidents in happened)
    assert all(3 <= len(scenario.incidents) - len(n) <= 5 for scenario, n in zip(scenarios, happened, strict=True))


def test_each_is_of_a_kind_in_the_catalogue_and_tells_what_came_before_and_after(
    scenarios: list[Scenario], catalogue: Catalogue
) -> None:
    for incident in (incident for scenario in scenarios for incident in scenario.incidents):
        assert catalogue.find_unwanted(incident.behaviour) is not None
        assert all((incident.place, incident.antecedent, incident.consequence, incident.people_did))


def test_unwatched_incidents_come_mostly_after_evening_play(scenarios: list[Scenario]) -> None:
    unwatched = [i for scenario in scenarios for i in scenario.incidents if not i.supervised]
    evening = [i for i in unwatched if i.at.astimezone(ZONE).hour >= 18 and "Play had just ended" in i.antecedent]
    assert len(evening) > 0.7 * len(unwatched)


def test_most_incidents_are_unwatched(scenarios: list[Scenario]) -> None:
    incidents = [i for scenario in scenarios for i in scenario.incidents if not i.left_it]
    assert sum(not i.supervised for i in incidents) > len(incidents) / 2


def test_incidents_stand_in_time_order(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        instants = [incident.at for incident in scenario.incidents]
        assert instants == sorted(instants)
