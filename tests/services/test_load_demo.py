"""The invented scenario in a database: all of it, through the same services as a trainer's own entries."""

from datetime import UTC, datetime

import pytest
from django.db import transaction

from pupilage.core.errors import PupilageError
from pupilage.core.handover.calls import Reason
from pupilage.core.handover.follow_up import FollowUpState
from pupilage.core.planning.day.preferences import read_preferences
from pupilage.core.simulation.earlier_stays import EarlierStay, generate_earlier_stays
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.simulation.scenario import Scenario
from pupilage.services.find_demo import find_demo
from pupilage.services.load_demo import load_demo
from pupilage.services.read_after_handover import list_families_to_call, read_after_handover
from pupilage.services.read_lesson import read_lesson
from pupilage.services.read_own_review import read_own_review
from pupilage.services.read_programme import read_programme
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import (
    Appointment,
    CareEvent,
    ChangePlan,
    DayPreferences,
    Dog,
    ExposureEvent,
    FamilyEntry,
    Goal,
    Incident,
    Programme,
    SessionEvent,
    TrainingSession,
    Trial,
    Weight,
    Workspace,
)

EVENING = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return generate_scenario(seed=7, now=EVENING, catalogue=load_catalogue(), timezone="Europe/Lisbon")


@pytest.fixture(scope="module")
def earlier(scenario: Scenario) -> tuple[EarlierStay, ...]:
    return generate_earlier_stays(scenario, seed=7, now=EVENING, catalogue=load_catalogue())


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
    from pupilage.services import write_scenario as module

    def refuse(*_: object, **__: object) -> None:
        raise PupilageError("no")

    monkeypatch.setattr(module, "log_incident", refuse)
    with pytest.raises(PupilageError):
        load_demo(scenario, seed=7, now=EVENING)
    assert not Workspace.objects.exists()
    assert not SessionEvent.objects.exists()


def everything_of_the_running_stay(scenario: Scenario, actor) -> list[object]:
    """Return what is stored of the running stay, but for keys that are drawn anew each time, and what its page says."""
    stay = Programme.objects.get(dog__name=scenario.pup.name)
    tables = (
        SessionEvent.objects.filter(session_id__in=TrainingSession.objects.filter(programme=stay).values("id")),
        Trial.objects.filter(programme=stay),
        CareEvent.objects.filter(dog=stay.dog),
        Incident.objects.filter(dog=stay.dog),
        ExposureEvent.objects.filter(dog=stay.dog),
        Goal.objects.filter(programme=stay),
        Weight.objects.filter(dog__household=stay.dog.household),
    )
    drawn = {"id", "workspace_id", "programme_id", "dog_id", "recorded_by_id", "by_id", "user_id", "payload"}
    rows = [sorted(str({k: v for k, v in row.items() if k not in drawn}) for row in table.values()) for table in tables]
    page = read_programme(actor, stay.id, now=EVENING)
    return [*rows, stay.prior_shape, stay.arrival_on, stay.handover_on, page.standings, page.origin, page.sets_of_five]


@pytest.mark.django_db
def test_the_running_stay_is_the_same_with_earlier_stays_and_without(scenario, earlier):
    with transaction.atomic():
        alone = everything_of_the_running_stay(scenario, load_demo(scenario, seed=7, now=EVENING))
        transaction.set_rollback(True)
    assert not Workspace.objects.exists()
    actor = load_demo(scenario, seed=7, now=EVENING, earlier=earlier)
    beside = everything_of_the_running_stay(scenario, actor)
    assert [len(one) for one in alone[:7]] == [len(one) for one in beside[:7]]
    assert alone == beside
    assert min(len(one) for one in alone[:7]) > 0


@pytest.mark.django_db
def test_earlier_stays_fill_the_pages_of_the_weeks_after_and_the_look_back(scenario, earlier):
    actor = load_demo(scenario, seed=7, now=EVENING, earlier=earlier)
    late, well = list_families_to_call(actor, now=EVENING)
    assert {why.reason for why in late.whys} >= {Reason.OVERDUE}
    assert well.whys == ()
    assert [one.state for one in late.follow_ups[:2]] == [FollowUpState.REPORTED, FollowUpState.OVERDUE]
    assert [one.state for one in well.follow_ups[:3]] == [FollowUpState.REPORTED] * 3
    assert late.total.n > 0 < well.total.n
    assert read_after_handover(actor, well.programme_id, now=EVENING).calls
    assert all(one.told_to is None and one.link_id is not None for one in FamilyEntry.objects.all())
    lesson = read_lesson(actor, late.programme_id, now=EVENING)
    assert 0 < lesson.n_ticked < len(lesson.items)
    assert any(line.carried.difference is not None for line in lesson.lines)
    review = read_own_review(actor, now=EVENING)
    assert review.n_stays == len(earlier)
    assert review.scores is not None
    assert review.roads


@pytest.mark.django_db
def test_the_fourth_stay_begins_with_what_three_others_taught(scenario, earlier):
    load_demo(scenario, seed=7, now=EVENING, earlier=earlier)
    stays = {one.dog.name: one.prior_shape for one in Programme.objects.select_related("dog")}
    names = [one.scenario.pup.name for one in earlier]
    assert [stays[name] is not None for name in names] == [False, False, False, True, True]
    assert stays[scenario.pup.name] is None
