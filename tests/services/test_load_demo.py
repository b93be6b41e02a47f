"""The invented scenario in a database: all of it, through the same services as a trainer's own entries."""

from datetime import UTC, datetime

import pytest

from pupilage.core.errors import PupilageError
from pupilage.core.planning.day.preferences import read_preferences
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario
from pupilage.services.find_demo import find_demo
from pupilage.services.load_demo import load_demo
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import (
    Appointment,
    CareEvent,
    ChangePlan,
    DayPreferences,
    Dog,
    ExposureEvent,
    Goal,
    Incident,
    Programme,
    SessionEvent,
    TrainingSession,
    Weight,
    Workspace,
)

EVENING = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return generate_scenario(seed=7, now=EVENING, catalogue=load_catalogue(), timezone="Europe/Lisbon")


@pytest.mark.django_db
def test_everything_of_the_scenario_is_stored(scenario):
    load_demo(scenario, seed=7, now=EVENING)
    assert SessionEvent.objects.count() == sum(map(len, scenario.sessions))
    assert TrainingSession.objects.count() == len(scenario.sessions)
    assert CareEvent.objects.count() == len(scenario.care_events)
    assert Incident.objects.count() == len(scenario.incidents)
    assert ExposureEvent.objects.count() == len(scenario.exposures)
    assert Goal.objects.count() == len(scenario.goals)
    assert ChangePlan.objects.get().behaviour in {incident.behaviour for incident in scenario.incidents}
    assert Dog.objects.count() == 2
    assert Weight.objects.count() == len(scenario.pup.weights) + len(scenario.resident.weights)
    assert Programme.objects.get().arrival_on == scenario.arrival_on
    assert Appointment.objects.count() == len(scenario.appointments) == 3
    assert read_preferences(DayPreferences.objects.get().chosen) == scenario.day


@pytest.mark.django_db
def test_the_workspace_is_marked_as_invented(scenario):
    actor = load_demo(scenario, seed=7, now=EVENING)
    workspace = Workspace.objects.get(id=actor.workspace_id)
    assert workspace.invented
    assert workspace.timezone == "Europe/Lisbon"


@pytest.mark.django_db
def test_a_demo_says_when_and_from_which_seed_it_was_made(scenario):
    assert find_demo() is None
    load_demo(scenario, seed=7, now=EVENING)
    mark = find_demo()
    assert mark is not None
    assert (mark.made_at, mark.timezone, mark.seed) == (EVENING, "Europe/Lisbon", 7)


@pytest.mark.django_db
def test_progress_ends_with_everything(scenario):
    told: list[tuple[int, int]] = []
    load_demo(scenario, seed=7, now=EVENING, progress=lambda done, n_all: told.append((done, n_all)))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1][0] == told[-1][1]


@pytest.mark.django_db
def test_a_demo_that_fails_half_way_leaves_nothing(scenario, monkeypatch):
    from pupilage.services import load_demo as module

    def refuse(*_: object, **__: object) -> None:
        raise PupilageError("no")

    monkeypatch.setattr(module, "log_incident", refuse)
    with pytest.raises(PupilageError):
        load_demo(scenario, seed=7, now=EVENING)
    assert not Workspace.objects.exists()
    assert not SessionEvent.objects.exists()
