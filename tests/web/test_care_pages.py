"""The care log by day, weights, incidents."""

from datetime import UTC, datetime
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.storage.models import CareEvent, Incident, Weight, Workspace

pytestmark = pytest.mark.django_db


def add(client: Client, dog: UUID, **fields: str) -> object:
    return client.post(reverse("care-log", args=[dog]), {"tap": "outing:both", **fields})


def test_entry_for_another_time_is_read_in_the_workspaces_zone(keeper_client: Client, dog: UUID) -> None:
    answer = add(keeper_client, dog, at="2026-05-12T07:15", note="by the gate")
    assert answer["Location"] == reverse("care", args=[dog])
    # Lisbon keeps UTC+1 in May
    assert CareEvent.objects.get().at == datetime(2026, 5, 12, 6, 15, tzinfo=UTC)
    text = keeper_client.get(reverse("care", args=[dog])).content.decode()
    assert "07:15" in text
    assert "Outside: wee and poo" in text


def test_future_entry_is_refused_and_what_was_typed_is_kept(keeper_client: Client, dog: UUID) -> None:
    answer = add(keeper_client, dog, at="2026-05-12T23:15", note="by the gate")
    assert answer.status_code == 400
    text = answer.content.decode()
    assert "This time is in the future" in text
    assert 'value="by the gate"' in text
    assert not CareEvent.objects.exists()


def test_hour_that_the_clocks_skipped_is_refused_and_the_hour_twice_is_the_first(
    keeper_client: Client, dog: UUID
) -> None:
    skipped = add(keeper_client, dog, at="2026-03-29T01:30")
    assert "The clocks skipped this hour" in skipped.content.decode()
    # 25 October 2025: 02:00 in Lisbon goes back to 01:00; the first 01:30 is 00:30 UTC
    add(keeper_client, dog, at="2025-10-26T01:30")
    assert CareEvent.objects.get().at == datetime(2025, 10, 26, 0, 30, tzinfo=UTC)


def test_day_of_the_log_is_the_local_day(keeper_client: Client, dog: UUID) -> None:
    add(keeper_client, dog, at="2026-05-12T00:20")
    path = reverse("care", args=[dog])
    assert "00:20" in keeper_client.get(path).content.decode()
    assert "00:20" not in keeper_client.get(path + "?day=2026-05-11").content.decode()
    assert keeper_client.get(path + "?day=nonsense").status_code == 200


def test_entry_taken_back_leaves_the_page_and_stays_in_the_log(
    keeper_client: Client, dog: UUID, care_event: UUID
) -> None:
    for _ in range(2):
        answer = keeper_client.post(reverse("care-withdraw", args=[dog, care_event]))
        assert answer["Location"] == reverse("care", args=[dog])
    assert CareEvent.objects.count() == 2
    assert "Outside: wee" not in keeper_client.get(reverse("care", args=[dog])).content.decode().split("<h2")[0]


def test_weight_is_typed_and_shown_in_pounds_and_stored_in_kilograms(
    keeper_client: Client, actor: Actor, dog: UUID
) -> None:
    Workspace.objects.filter(id=actor.workspace_id).update(weight_unit="lb")
    keeper_client.post(reverse("weight", args=[dog]), {"weight": "11.0", "weighed_at": "2026-05-12T08:00"})
    # 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959)
    assert Weight.objects.order_by("at").last().weight_kg == pytest.approx(11 * 0.45359237, rel=1e-12)
    assert "11.0\N{NO-BREAK SPACE}lb" in keeper_client.get(reverse("dog", args=[dog])).content.decode()


@pytest.mark.parametrize("typed", ["0", "400", "-3", "nan", "four"])
def test_weight_that_no_dog_has_is_refused(keeper_client: Client, dog: UUID, typed: str) -> None:
    n_before = Weight.objects.count()
    answer = keeper_client.post(reverse("weight", args=[dog]), {"weight": typed})
    assert answer.status_code == 400
    assert answer.context["form"].errors["weight"]
    assert Weight.objects.count() == n_before


def test_incident_is_written_with_what_people_did(keeper_client: Client, dog: UUID) -> None:
    path = reverse("incident", args=[dog])
    key = keeper_client.get(path).context["form"].fields["behaviour"].choices[0][0]
    answer = keeper_client.post(
        path, {"behaviour": key, "at": "2026-05-12T08:10", "people_did": "shouted, then fetched a toy"}
    )
    assert answer["Location"] == reverse("incidents", args=[dog])
    incident = Incident.objects.get()
    assert (incident.behaviour, incident.supervised) == (key, False)
    assert "shouted, then fetched a toy" in keeper_client.get(reverse("care", args=[dog])).content.decode()


def test_unknown_incident_is_refused(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.post(
        reverse("incident", args=[dog]), {"behaviour": "no-such-thing", "at": "2026-05-12T08:10"}
    )
    assert answer.status_code == 400
    assert not Incident.objects.exists()


def test_incident_page_says_what_to_do_after_a_bite(keeper_client: Client, dog: UUID) -> None:
    text = keeper_client.get(reverse("incident", args=[dog])).content.decode()
    assert "A bite that breaks skin" in text
    assert "veterinary behaviourist" in text
