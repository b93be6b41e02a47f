"""The intake: from an empty workspace to a stay with goals."""

from datetime import date
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.services.find_actor import find_actor
from pupilage.storage.models import Dog, Goal, Programme, Reinforcer, VetDate, Weight

pytestmark = pytest.mark.django_db

FIRST_PART = {
    "household": "Wren's yard",
    "pup_name": "Tansy",
    "born_on": "2026-03-10",
    "arrival_on": "2026-05-12",
    "handover_on": "2026-06-02",
    "weight_unit": "kg",
    "timezone": "Europe/Lisbon",
    "sessions_a_day": "4",
    "reinforcer-TOTAL_FORMS": "0",
    "reinforcer-INITIAL_FORMS": "0",
    "vet-TOTAL_FORMS": "0",
    "vet-INITIAL_FORMS": "0",
}


def send(client: Client, **changes: object) -> object:
    return client.post(reverse("start"), {**FIRST_PART, **changes})


def test_first_part_alone_starts_a_stay_and_leads_to_the_goals(keeper_client: Client) -> None:
    answer = send(keeper_client)
    programme = Programme.objects.get()
    assert answer["Location"] == reverse("goals", args=[programme.id])
    assert (programme.arrival_on, programme.handover_on) == (date(2026, 5, 12), date(2026, 6, 2))


def test_page_proposes_today_three_weeks_and_what_pups_work_for(keeper_client: Client) -> None:
    text = keeper_client.get(reverse("start")).content.decode()
    assert 'value="2026-05-12"' in text
    assert 'value="2026-06-02"' in text
    assert "cooked chicken" in text


def test_everything_filled_in_is_stored(keeper_client: Client) -> None:
    answer = send(
        keeper_client,
        weight="9,3",
        adult_weight="40",
        weight_unit="lb",
        daily_food_g="180",
        food_kcal_per_100g="372,5",
        family="Linden house",
        resident_name="Moss",
        resident_born_on="2019-01-01",
        signs=["limping", "fear"],
        signs_other="sleeps badly",
        **{
            "reinforcer-TOTAL_FORMS": "2",
            "reinforcer-0-name": "cheese",
            "reinforcer-0-piece_g": "0,5",
            "reinforcer-1-name": "",
            "vet-TOTAL_FORMS": "2",
            "vet-0-on": "2026-05-20",
            "vet-0-what": "vaccination",
        },
    )
    assert answer.status_code == 302
    pup = Dog.objects.get(is_resident=False)
    assert pup.signs.splitlines() == ["limping", "fear", "sleeps badly"]
    assert pup.food_kcal_per_100g == 372.5
    # 1 lb = 0.45359237 kg exactly (international yard and pound agreement, 1959)
    assert Weight.objects.get().weight_kg == pytest.approx(9.3 * 0.45359237, rel=1e-12)
    assert pup.expected_adult_weight_kg == pytest.approx(40 * 0.45359237, rel=1e-12)
    assert Dog.objects.get(is_resident=True).name == "Moss"
    assert Reinforcer.objects.get().piece_g == 0.5
    assert VetDate.objects.get().what == "vaccination"


def test_units_and_zone_are_kept_as_settings(keeper_client: Client, actor: Actor) -> None:
    send(keeper_client, weight_unit="lb", timezone="America/Chicago")
    changed = find_actor(actor.user_id)
    assert (changed.weight_unit, changed.timezone) == ("lb", "America/Chicago")


def test_every_problem_is_shown_at_once_beside_its_field_and_nothing_is_lost(keeper_client: Client) -> None:
    answer = send(
        keeper_client,
        pup_name="",
        people="two grown-ups",
        weight="400",
        adult_weight="0",
        handover_on="2026-05-01",
        sessions_a_day="90",
        food_kcal_per_100g="4000",
        resident_name="Moss",
        **{"vet-TOTAL_FORMS": "1", "vet-0-what": "vaccination"},
    )
    assert answer.status_code == 400
    form = answer.context["form"]
    assert set(form.errors) == {
        "pup_name", "weight", "adult_weight", "handover_on", "sessions_a_day", "food_kcal_per_100g",
        "resident_born_on",
    }  # fmt: skip
    assert answer.context["vet_dates"].errors == [{"on": ["Give the day."]}]
    text = answer.content.decode()
    assert "400 kg cannot be a dog&#x27;s weight; give a number between 0.2 and 120 kg." in text
    assert "The hand-over (2026-05-01) must come after the arrival (2026-05-12)." in text
    for typed in ("two grown-ups", "400", "90", "4000", "vaccination"):
        assert f'value="{typed}"' in text
    assert not Programme.objects.exists()


def test_unreadable_figures_and_days_are_said_beside_their_fields(keeper_client: Client) -> None:
    answer = send(keeper_client, weight="heavy", born_on="soon")
    assert answer.context["form"].errors == {
        "weight": ["Give a number, such as 4.2."],
        "born_on": ["Give a day, such as 2026-05-12."],
    }


def test_pup_that_is_too_old_is_refused_with_the_range(keeper_client: Client) -> None:
    answer = send(keeper_client, born_on="2023-03-10")
    assert "Pupilage is made for 6 to 60 weeks" in answer.context["form"].errors["born_on"][0]


def test_ticked_sign_is_said_on_today_and_on_the_card(keeper_client: Client) -> None:
    send(keeper_client, signs=["limping"])
    programme = Programme.objects.get()
    for path in ("/", reverse("session-card", args=[programme.id])):
        assert "Limps, is stiff, or cries when touched or lifted" in keeper_client.get(path).content.decode()


def test_proposed_goals_can_be_set_as_they_stand(keeper_client: Client) -> None:
    send(keeper_client)
    path = reverse("goals", args=[Programme.objects.get().id])
    page = keeper_client.get(path)
    chosen = [line for line in page.context["page"].lines if line.chosen]
    answer = keeper_client.post(path, {f"{line.behaviour.key}-chosen": "on" for line in chosen})
    assert answer["Location"] == "/"
    stored = Goal.objects.filter(dropped_at=None)
    assert {goal.behaviour: goal.step for goal in stored} == {line.behaviour.key: line.step for line in chosen}


def test_goals_that_stand_are_ticked_and_can_be_changed(keeper_client: Client, programme: UUID) -> None:
    path = reverse("goals", args=[programme])
    first = Goal.objects.order_by("behaviour").first()
    page = keeper_client.get(path)
    assert {line.behaviour.key for line in page.context["page"].lines if line.chosen} == set(
        Goal.objects.values_list("behaviour", flat=True)
    )
    answer = keeper_client.post(path, {f"{first.behaviour}-chosen": "on", f"{first.behaviour}-weight": "2"})
    assert answer["Location"] == reverse("programme", args=[programme])
    assert list(Goal.objects.filter(dropped_at=None).values_list("behaviour", "weight")) == [(first.behaviour, 2)]


def test_no_goal_at_all_is_refused(keeper_client: Client, programme: UUID) -> None:
    answer = keeper_client.post(reverse("goals", args=[programme]), {})
    assert answer.status_code == 400
    assert "Tick at least one behaviour" in answer.content.decode()
    assert Goal.objects.filter(dropped_at=None).exists()


def test_unknown_step_of_a_goal_is_refused(keeper_client: Client, programme: UUID) -> None:
    key = Goal.objects.first().behaviour
    answer = keeper_client.post(reverse("goals", args=[programme]), {f"{key}-chosen": "on", f"{key}-step": "none"})
    assert answer.status_code == 400


def test_grown_weight_under_the_weight_now_is_refused_at_its_field(keeper_client: Client) -> None:
    answer = send(keeper_client, weight="9", adult_weight="4")
    assert answer.status_code == 400
    assert "is under the weight now (9 kg)" in str(answer.context["form"].errors["adult_weight"])
    assert not Programme.objects.exists()
