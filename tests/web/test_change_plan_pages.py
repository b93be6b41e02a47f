"""A plan's page: offered from the catalogue, made, changed, ended, and what became of it."""

from datetime import date, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.care.events import CareKind
from pupilage.core.incidents.teeth import Teeth
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.read_catalogue import read_catalogue
from pupilage.storage.models import ChangePlan, Goal

KEY = "counter-stealing"
LINES = read_catalogue().unwanted[KEY].arrange


def path(dog, name="change-plan", key=KEY):
    return reverse(name, args=[dog, key])


def make(client, dog, **fields):
    given = {"lines": list(LINES[:2]), "own": "", "starts_on": "2026-05-08", "teach": "on"} | fields
    return client.post(path(dog), given)


@pytest.fixture
def days(actor, dog, now):
    """Return a function that logs nine days of eight hours with so many incidents each."""

    def write(counts, key=KEY, **more):
        for ago, n in zip(range(9, 0, -1), counts, strict=True):
            morning = now - timedelta(days=ago)
            for hours in (0, 8):
                log_care(actor, dog, CareEntry(CareKind.MEAL, morning + timedelta(hours=hours)), now=now)
            for k in range(n):
                log_incident(actor, dog, IncidentEntry(key, morning + timedelta(minutes=25 * k + 5), **more), now=now)

    return write


def test_lines_of_the_catalogue_are_ticked_and_the_replacement_offered(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.get(path(dog))
    page = answer.content.decode()
    assert answer.context["form"].initial["lines"] == list(LINES)
    assert "No plan yet." in page
    assert "Make it a goal of this stay" in page
    assert "<svg" not in page


def test_plan_is_stored_with_own_lines_and_the_second_sending_stores_nothing(keeper_client: Client, dog: UUID) -> None:
    nonce = str(uuid4())
    for _ in range(2):
        answer = make(keeper_client, dog, own="lead on\r\nbin outside", gain_stops="on", plan_id=nonce)
        assert answer.status_code == 302
    row = ChangePlan.objects.get()
    assert row.arrange == [*LINES[:2], "lead on", "bin outside"]
    assert (row.starts_on, row.replacement, row.gain_stops) == (date(2026, 5, 8), "settle-on-mat", True)
    shown = keeper_client.get(path(dog))
    assert shown.context["form"].initial["own"] == "lead on\nbin outside"
    assert "It gains nothing by it." in shown.content.decode()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"starts_on": "2026-05-01"}, "The pup came on 2026-05-02"),
        ({"starts_on": "2026-06-01"}, "The pup leaves on 2026-05-23"),
        ({"lines": [], "teach": ""}, "Nothing is arranged and nothing taught instead"),
        ({"starts_on": "soon"}, "Give a day, such as 2026-05-12."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(keeper_client: Client, dog: UUID, fields, words) -> None:
    answer = make(keeper_client, dog, note="her idea", **fields)
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert "her idea" in answer.content.decode()
    assert not ChangePlan.objects.exists()


def test_before_and_after_stand_in_sentences_a_table_and_a_drawing(keeper_client: Client, dog: UUID, days) -> None:
    days([3, 4, 3, 4, 3, 0, 1, 0, 0])
    make(keeper_client, dog)
    page = keeper_client.get(path(dog)).content.decode()
    assert "Rarer with the plan" in page
    assert '<svg role="img"' in page
    assert "Full dots: days with a plan" in page
    assert "before any plan" in page
    assert "never read it alone" in page


def test_a_rise_is_told_to_hold_on_but_not_where_teeth_went_through_skin(
    keeper_client: Client, actor, dog: UUID, days, now
) -> None:
    days([2, 2, 2, 2, 2, 2, 2, 8, 9], key="mouthing-hands")
    keeper_client.post(
        path(dog, key="mouthing-hands"), {"own": "toy in hand", "starts_on": "2026-05-10", "gain_stops": "on"}
    )
    assert "Hold on" in keeper_client.get(path(dog, key="mouthing-hands")).content.decode()
    bite = IncidentEntry("mouthing-hands", now - timedelta(hours=1), teeth=Teeth.BITE)
    log_incident(actor, dog, bite, now=now)
    page = keeper_client.get(path(dog, key="mouthing-hands")).content.decode()
    assert "Hold on" not in page
    assert "Do not wait this out" in page


def test_plan_is_changed_ended_and_taken_back(keeper_client: Client, dog: UUID, days) -> None:
    days([3, 4, 3, 4, 3, 2, 1, 0, 0])
    make(keeper_client, dog, starts_on="2026-05-06")
    make(keeper_client, dog, starts_on="2026-05-09", own="lead on")
    assert "Beside the days before any plan" in keeper_client.get(path(dog)).content.decode()
    ended = keeper_client.post(path(dog, "change-plan-end"), {"ends_on": "2026-05-11"})
    assert ended.status_code == 302
    page = keeper_client.get(path(dog))
    assert "Ended on" in page.content.decode()
    assert page.context["page"].standing is None
    newest = page.context["page"].phases[-1]
    assert keeper_client.post(reverse("change-plan-take-back", args=[newest.id])).status_code == 302
    assert keeper_client.get(path(dog)).context["page"].standing is not None


def test_end_that_cannot_be_is_said_beside_its_field(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.post(path(dog, "change-plan-end"), {"ends_on": "2026-05-11"})
    assert answer.status_code == 400
    make(keeper_client, dog)
    answer = keeper_client.post(path(dog, "change-plan-end"), {"ends_on": "2026-05-08"})
    assert "there is nothing to end" in answer.content.decode()


def test_replacement_becomes_a_goal(keeper_client: Client, dog: UUID) -> None:
    for _ in range(2):
        assert keeper_client.post(path(dog, "change-plan-goal")).status_code == 302
    assert Goal.objects.filter(behaviour="settle-on-mat", dropped_at=None).count() == 1
    assert "A goal of this stay." in keeper_client.get(path(dog)).content.decode()


def test_unknown_behaviour_gets_404(keeper_client: Client, dog: UUID) -> None:
    assert keeper_client.get(path(dog, key="flying")).status_code == 404


def test_incidents_page_leads_to_the_plan(keeper_client: Client, dog: UUID, incident: UUID) -> None:
    assert path(dog) in keeper_client.get(reverse("incidents", args=[dog])).content.decode()
