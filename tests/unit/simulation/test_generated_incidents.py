"""The incidents of a scenario, and the pattern that is hidden in them."""

from pupilage.core.care.events import CareKind
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import find_zone
from pupilage.core.incidents.answers import Answers, answer
from pupilage.core.incidents.lasting import read_lasting
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import holds
from pupilage.core.incidents.waking import free_time, moments_since, present_time
from pupilage.core.simulation.scenario import Scenario

ZONE = find_zone("Europe/Lisbon")
STOLEN = "counter-stealing"
DOGS = "rough-play-with-dog"
"""Incidents between the two dogs: the hidden pattern is in the others."""


def of_one_dog(scenario: Scenario) -> list[Incident]:
    return [incident for incident in scenario.incidents if incident.behaviour != DOGS]


def answer_of(scenario: Scenario) -> Answers:
    """Return what the page says of the thefts."""
    return answer(
        [incident for incident in scenario.incidents if incident.behaviour == STOLEN],
        free=free_time(scenario.care_events, ZONE),
        present=present_time(scenario.care_events, [events[-1].at for events in scenario.sessions], ZONE),
        moments=moments_since(scenario.care_events),
        zone=ZONE,
    )


def test_there_are_twenty_to_thirty_and_three_to_five_that_were_left(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        happened = [i for i in of_one_dog(scenario) if not i.left_it]
        assert 20 <= len(happened) <= 30
        assert 3 <= len(of_one_dog(scenario)) - len(happened) <= 5


def test_three_to_five_are_between_the_dogs_while_both_are_loose(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        between = [i for i in scenario.incidents if i.behaviour == DOGS]
        together = read_lasting(scenario.care_events, ZONE).stretches[CareKind.RESIDENT]
        assert 3 <= sum(i.between is not None for i in between) <= 5
        assert sum(i.left_it for i in between) == 2
        assert all(holds(together, i.at) for i in between)


def test_taps_of_the_meetings_are_never_odd(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        odd = read_lasting(scenario.care_events, ZONE).odd
        assert not [one for one in odd if one.kind is CareKind.RESIDENT]


def test_planted_cause_of_the_thefts_leads_and_is_called_in_every_scenario(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        found = answer_of(scenario)
        assert found.n >= 12
        assert found.suspects[0].key == Before.IN_REACH
        assert found.suspects[0].is_called


def test_thefts_lie_in_hours_that_the_log_covers(scenarios: list[Scenario]) -> None:
    assert sum(answer_of(scenario).n_outside for scenario in scenarios) <= 2


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


def test_most_incidents_but_thefts_are_unwatched(scenarios: list[Scenario]) -> None:
    incidents = [i for scenario in scenarios for i in of_one_dog(scenario) if i.behaviour != STOLEN and not i.left_it]
    assert sum(not i.supervised for i in incidents) > len(incidents) / 2


def test_incidents_stand_in_time_order(scenarios: list[Scenario]) -> None:
    for scenario in scenarios:
        instants = [incident.at for incident in scenario.incidents]
        assert instants == sorted(instants)
