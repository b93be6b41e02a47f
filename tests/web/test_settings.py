"""Settings: how things are shown, and what the pup works for."""

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.services.find_actor import find_actor
from pupilage.storage.models import Reinforcer

pytestmark = pytest.mark.django_db


def test_preferences_are_kept(keeper_client: Client, actor: Actor) -> None:
    answer = keeper_client.post(
        reverse("settings"), {"language": "en", "timezone": "Pacific/Auckland", "weight_unit": "lb"}
    )
    assert answer["Location"] == reverse("settings")
    kept = find_actor(actor.user_id)
    assert (kept.language, kept.timezone, kept.weight_unit) == ("en", "Pacific/Auckland", "lb")


def test_unknown_zone_and_unit_are_refused_at_once(keeper_client: Client, actor: Actor) -> None:
    answer = keeper_client.post(
        reverse("settings"), {"language": "en", "timezone": "Mars/Olympus", "weight_unit": "stone"}
    )
    assert answer.status_code == 400
    assert set(answer.context["form"].errors) == {"timezone", "weight_unit"}
    assert find_actor(actor.user_id) == actor


def test_reinforcer_is_added_changed_and_retired_by_name(keeper_client: Client) -> None:
    path = reverse("reinforcer")
    keeper_client.post(path, {"name": "cheese", "piece_g": "0,5", "kcal_per_100g": "403"})
    keeper_client.post(path, {"name": "cheese", "piece_g": "0.3", "from_ration": "on"})
    row = Reinforcer.objects.get()
    assert (row.piece_g, row.from_ration, row.kcal_per_100g) == (0.3, True, None)
    keeper_client.post(path, {"name": "cheese", "piece_g": "0.3", "retired": "on"})
    assert "None yet." in keeper_client.get(reverse("settings")).content.decode()


def test_impossible_piece_is_refused(keeper_client: Client) -> None:
    answer = keeper_client.post(reverse("reinforcer"), {"name": "cheese", "piece_g": "500", "kcal_per_100g": "9000"})
    assert answer.status_code == 400
    assert set(answer.context["reinforcer_form"].errors) == {"piece_g", "kcal_per_100g"}
    assert not Reinforcer.objects.exists()


def test_account_without_a_workspace_is_told_so(db: None) -> None:
    from pupilage.storage.models import User

    client = Client()
    client.force_login(User.objects.create_user(username="nobody"))
    answer = client.get("/")
    assert answer.status_code == 403
    assert "This account belongs to no workspace" in answer.content.decode()


@pytest.mark.parametrize(
    "said",
    ["Not veterinary advice", "its own veterinarian", "Local law", "breaks skin", "no correction as a method"],
)
def test_cautions_say_what_they_must(keeper_client: Client, said: str) -> None:
    assert said in keeper_client.get(reverse("cautions")).content.decode()
