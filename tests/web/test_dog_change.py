"""What is said of a dog can be put right, and signs can be settled."""

from datetime import date
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.storage.models import AuditEntry, Dog, Workspace

pytestmark = pytest.mark.django_db

GIVEN = {
    "name": "Tansy",
    "label_unit": "kcal-per-100g",
    "born_on": "2026-03-01",
    "adult_weight": "20",
    "daily_food_g": "220,5",
}


def change(client: Client, dog: UUID, **fields: str) -> object:
    return client.post(reverse("dog-change", args=[dog]), {**GIVEN, **fields})


def test_facts_are_put_right(keeper_client: Client, dog: UUID) -> None:
    assert change(keeper_client, dog)["Location"] == reverse("dog", args=[dog])
    row = Dog.objects.get(id=dog)
    assert (row.born_on, row.daily_food_g, row.expected_adult_weight_kg) == (date(2026, 3, 1), 220.5, 20.0)


def test_adult_weight_is_typed_in_the_workspaces_unit(keeper_client: Client, actor: Actor, dog: UUID) -> None:
    Workspace.objects.filter(id=actor.workspace_id).update(weight_unit="lb")
    change(keeper_client, dog, adult_weight="40")
    # 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959)
    assert Dog.objects.get(id=dog).expected_adult_weight_kg == pytest.approx(40 * 0.45359237, rel=1e-12)


def test_signs_stay_until_they_are_settled_and_the_audit_keeps_them(keeper_client: Client, dog: UUID) -> None:
    Dog.objects.filter(id=dog).update(signs="limping")
    change(keeper_client, dog)
    assert Dog.objects.get(id=dog).signs == "limping"
    change(keeper_client, dog, signs_settled="on")
    assert Dog.objects.get(id=dog).signs == ""
    assert AuditEntry.objects.filter(action="change-dog").last().detail == {"settled": "limping"}


def test_every_problem_is_said_and_nothing_is_changed(keeper_client: Client, dog: UUID) -> None:
    wrong = {"born_on": "2031-01-01", "adult_weight": "400", "daily_food_g": "0", "label_energy": "0"}
    answer = change(keeper_client, dog, **wrong)
    assert answer.status_code == 400
    text = answer.content.decode()
    for words in ("in the future", "400 kg cannot be", "0 g a day cannot be", "is no food"):
        assert words in text
    assert Dog.objects.get(id=dog).born_on == date(2026, 2, 25)
