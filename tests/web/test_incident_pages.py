"""Incidents: a few taps, what the log knows already, what the record says, taking one back."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.storage.models import Incident


def tap(client, dog, **fields):
    given = {"behaviour": "counter-stealing", "at": "2026-05-12T08:10"}
    return client.post(reverse("incident", args=[dog]), given | fields)


def test_four_taps_store_an_incident(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, before=["unwatched", "in-reach"], gained="thing")
    assert answer.status_code == 302
    incident = Incident.objects.get()
    assert (incident.before, incident.gained, incident.left_it) == (["unwatched", "in-reach"], "thing", False)


def test_same_showing_of_the_form_sent_twice_stores_one(keeper_client: Client, dog: UUID) -> None:
    nonce = str(uuid4())
    for _ in range(2):
        tap(keeper_client, dog, incident_id=nonce)
    assert Incident.objects.count() == 1


def test_what_the_log_knows_is_ticked_already(keeper_client: Client, actor, dog: UUID, now) -> None:
    for minutes, kind, detail in (
        (10, CareKind.NAP, CareDetail.END),
        (40, CareKind.MEAL, CareDetail.PLAIN),
        (5, CareKind.UNWATCHED, CareDetail.START),
    ):
        log_care(actor, dog, CareEntry(kind, now - timedelta(minutes=minutes), detail), now=now)
    context = keeper_client.get(reverse("incident", args=[dog])).context
    assert context["form"].initial["before"] == ["woke", "unwatched"]
    assert context["moment"].minutes_since[CareKind.MEAL] == 40


def test_looking_and_leaving_it_is_counted_as_good_news(keeper_client: Client, dog: UUID) -> None:
    tap(keeper_client, dog, left="left")
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "It looked and left it 1 time: pay that well." in page
    assert "Not once so far." in page


def test_a_bite_is_answered_with_whom_to_ask(keeper_client: Client, dog: UUID) -> None:
    path = reverse("incident", args=[dog])
    answer = keeper_client.post(
        path, {"behaviour": "mouthing-hands", "at": "2026-05-12T08:10", "teeth": "bite"}, follow=True
    )
    assert "see a doctor" in answer.content.decode()


def test_incident_taken_back_is_in_no_reading_and_stays_stored(
    keeper_client: Client, dog: UUID, incident: UUID
) -> None:
    for _ in range(2):
        assert keeper_client.post(reverse("incident-take-back", args=[incident])).status_code == 302
    assert "No incident written down yet." in keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert Incident.objects.count() == 1


@pytest.mark.parametrize(
    ("at", "word"), [("2026-05-13T08:10", "in the future"), ("2020-01-01T08:10", "before the pup came")]
)
def test_times_that_cannot_be_are_refused_and_nothing_typed_is_lost(keeper_client: Client, dog: UUID, at, word) -> None:
    answer = tap(keeper_client, dog, at=at, note="by the sink")
    assert answer.status_code == 400
    assert word in answer.content.decode()
    assert "by the sink" in answer.content.decode()
    assert not Incident.objects.exists()


def test_unknown_antecedent_is_refused(keeper_client: Client, dog: UUID) -> None:
    assert tap(keeper_client, dog, before=["the-moon"]).status_code == 400


def test_three_incidents_say_that_they_cannot_tell(keeper_client: Client, actor, dog: UUID, now) -> None:
    for i in range(3):
        log_incident(actor, dog, IncidentEntry("counter-stealing", now - timedelta(hours=i)), now=now)
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "3 incidents cannot tell a cause" in page
    assert "in hours that the log does not cover" in page


def test_three_incidents_have_no_chart(keeper_client: Client, actor, dog: UUID, now) -> None:
    for i in range(3):
        log_incident(actor, dog, IncidentEntry("counter-stealing", now - timedelta(hours=i)), now=now)
    assert "<svg" not in keeper_client.get(reverse("incidents", args=[dog])).content.decode()


def test_enough_incidents_are_drawn_and_every_drawing_has_its_sentence_and_its_table(
    keeper_client: Client, actor, dog: UUID, now
) -> None:
    fill(actor, dog, now)
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    n = page.count("<svg")
    assert n >= 4
    assert page.count("<figcaption") == page.count("The same as a table") == n
    assert "goes with 8 of 8" in page


def fill(actor, dog: UUID, now) -> None:
    """Log eight hours with food in reach for a quarter of an hour, on each of five days, and eight thefts in it."""
    for day in range(1, 6):
        start = now.replace(hour=7, minute=0) - timedelta(days=day)
        for minutes, kind, detail in (
            (0, CareKind.NAP, CareDetail.END),
            (60, CareKind.IN_REACH, CareDetail.START),
            (75, CareKind.IN_REACH, CareDetail.END),
            (480, CareKind.NAP, CareDetail.START),
        ):
            log_care(actor, dog, CareEntry(kind, start + timedelta(minutes=minutes), detail), now=now)
    for i in range(8):
        at = now.replace(hour=8, minute=2 + i) - timedelta(days=1 + i % 5)
        log_incident(actor, dog, IncidentEntry("counter-stealing", at), now=now)
