"""The ration page, what a pup likes best, and the page for something eaten."""

from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.care.food.doses import CALL_NOW
from pupilage.storage.models import Dog, Reinforcer, Weight, Workspace

pytestmark = pytest.mark.django_db

WORDS = str(CALL_NOW).replace("'", "&#x27;")


def text_of(client: Client, name: str, *args: object, **asked: str) -> str:
    return client.get(reverse(name, args=args), asked).content.decode()


def test_ration_page_shows_methods_split_and_that_no_meal_is_withheld(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, "ration", dog)
    for words in ("Growth bands", "Newer line, not confirmed", "In the bowl", "never held back", "616", "167"):
        assert words in text


def test_plan_that_is_too_much_is_said_on_the_page(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, "ration", dog, sessions="12", minutes="5", rate="15")
    assert "Not enough food for this plan" in text
    assert "the bowls stay as they are" in text


@pytest.mark.parametrize("asked", [{"rate": "99"}, {"minutes": "-1"}, {"sessions": "many"}, {"minutes": "nan"}])
def test_question_that_cannot_be_is_refused_beside_its_field(
    keeper_client: Client, dog: UUID, asked: dict[str, str]
) -> None:
    answer = keeper_client.get(reverse("ration", args=[dog]), {"sessions": "4", "minutes": "3", "rate": "10"} | asked)
    assert answer.status_code == 400
    assert set(answer.context["asked"].errors) == set(asked)


def test_method_is_chosen_and_marked(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.post(reverse("ration-choose", args=[dog]), {"method": "growth-bands"})
    assert answer["Location"] == reverse("ration", args=[dog])
    assert Dog.objects.get(id=dog).daily_food_g == 167.0
    assert "chosen" in text_of(keeper_client, "ration", dog)


@pytest.mark.parametrize("method", ["large-breed", "nonsense", ""])
def test_method_that_cannot_be_fed_by_is_refused(keeper_client: Client, dog: UUID, method: str) -> None:
    answer = keeper_client.post(reverse("ration-choose", args=[dog]), {"method": method})
    assert answer.status_code == 400
    assert Dog.objects.get(id=dog).energy_method == ""


def test_weighing_with_a_score_moves_the_ration_once(keeper_client: Client, dog: UUID) -> None:
    keeper_client.post(
        reverse("weight", args=[dog]), {"weight": "4.5", "weighed_at": "2026-05-12T08:00", "body_condition": "6"}
    )
    assert Weight.objects.order_by("at").last().body_condition == 6
    text = text_of(keeper_client, "ration", dog)
    assert "5 % less food, no more than that in a week" in text
    answer = keeper_client.post(reverse("ration-move", args=[dog]), {"from_g": "210"})
    assert answer["Location"] == reverse("ration", args=[dog])
    assert Dog.objects.get(id=dog).daily_food_g == 200.0
    again = keeper_client.post(reverse("ration-move", args=[dog]), {"from_g": "210"})
    assert again.status_code == 409
    assert "another by now" in again.content.decode()


@pytest.mark.parametrize("typed", ["0", "10", "fat"])
def test_score_that_is_none_is_refused(keeper_client: Client, dog: UUID, typed: str) -> None:
    n_before = Weight.objects.count()
    answer = keeper_client.post(reverse("weight", args=[dog]), {"weight": "4.5", "body_condition": typed})
    assert answer.status_code == 400
    assert answer.context["form"].errors["body_condition"]
    assert Weight.objects.count() == n_before


def test_bad_condition_twice_shows_the_veterinarian_and_no_button(keeper_client: Client, dog: UUID) -> None:
    for day, weight in (("2026-05-05", "4.6"), ("2026-05-12", "4.9")):
        keeper_client.post(
            reverse("weight", args=[dog]),
            {"weight": weight, "weighed_at": f"{day}T08:00", "body_condition": "7"},
        )
    text = text_of(keeper_client, "ration", dog)
    assert "outside 4 and 5 twice (7 and 7 of 9): see the veterinarian" in text
    assert "ration/move/" not in text
    assert keeper_client.post(reverse("ration-move", args=[dog]), {"from_g": "210"}).status_code == 409
    assert Dog.objects.get(id=dog).daily_food_g == 210.0


def test_very_small_pup_has_its_caution(keeper_client: Client, dog: UUID) -> None:
    Dog.objects.filter(id=dog).update(expected_adult_weight_kg=3.5)
    Weight.objects.update(weight_kg=1.1)
    assert "A very small pup can run low on blood sugar" in text_of(keeper_client, "ration", dog)


def test_grown_weight_under_the_weight_now_is_said_on_the_page(keeper_client: Client, dog: UUID) -> None:
    Dog.objects.filter(id=dog).update(expected_adult_weight_kg=3.0)
    text = text_of(keeper_client, "ration", dog)
    assert "is under the weight now (4.2 kg); put one of them right" in text


def test_likes_are_kept_and_shown(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.post(reverse("likes", args=[dog]), {"like-cooked chicken": "1", "like-dry food": "2"})
    assert answer["Location"] == reverse("ration", args=[dog])
    chicken = Reinforcer.objects.get(name="cooked chicken")
    assert Dog.objects.get(id=dog).likes[0] == str(chicken.id)
    assert keeper_client.post(reverse("likes", args=[dog]), {"like-dry food": "best"}).status_code == 400


def test_something_eaten_always_shows_the_words_and_whom_to_call(keeper_client: Client, dog: UUID) -> None:
    assert WORDS in text_of(keeper_client, "eaten")
    assert "No telephone number is written down yet." in text_of(keeper_client, "eaten")
    Workspace.objects.update(poison_phone="+1 (555) 0199")
    for asked in (
        {"what": "milk-chocolate", "amount": "1", "weight": "60"},
        {"what": "milk-chocolate", "amount": "", "dog": str(dog)},
        {"what": "grapes", "amount": "1", "dog": str(dog)},
        {"what": "bones", "dog": str(dog)},
        {"what": "milk-chocolate", "amount": "-5", "weight": "nan"},
        {"what": "nonsense"},
        {"what": ""},
    ):
        text = text_of(keeper_client, "eaten", **asked)
        assert WORDS in text
        assert 'href="tel:+15550199"' in text


def test_dose_below_what_is_described_is_no_all_clear(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, "eaten", what="milk-chocolate", amount="20", dog=str(dog), weight="5")
    assert "9.2 mg/kg" in text
    assert "That is no all-clear" in text
    assert "Call, whatever the number says." in text


def test_amount_that_cannot_be_is_refused_with_the_words(keeper_client: Client, dog: UUID) -> None:
    answer = keeper_client.get(reverse("eaten"), {"what": "onion", "amount": "-5", "dog": str(dog), "weight": "400"})
    assert answer.status_code == 400
    assert set(answer.context["form"].errors) == {"amount", "weight"}
    assert WORDS in answer.content.decode()


def test_weight_is_typed_in_the_workspaces_unit(keeper_client: Client, dog: UUID) -> None:
    Workspace.objects.update(weight_unit="lb")
    # 11.0231 lb = 5 kg (1 lb = 0.45359237 kg exactly)
    text = text_of(keeper_client, "eaten", what="dark-chocolate", amount="20", dog=str(dog), weight="11.0231")
    assert "22.8 mg/kg" in text


def test_ingredients_are_searched_and_the_finding_stands_in_the_list(keeper_client: Client) -> None:
    keeper_client.post(
        reverse("reinforcer"), {"name": "meat balls", "piece_g": "0.5", "ingredients": "beef, garlic powder"}
    )
    text = text_of(keeper_client, "settings")
    assert "Do not feed this: “garlic” stands there" in text
    assert "What is not marked is not thereby safe" in text


def test_cautions_carry_the_telephone_numbers_and_what_is_never_fed(keeper_client: Client) -> None:
    keeper_client.post(
        reverse("settings"),
        {
            "language": "en", "timezone": "Europe/Lisbon", "weight_unit": "kg",
            "vet_phone": "555 0100", "poison_phone": "555 0199",
        },
    )  # fmt: skip
    text = text_of(keeper_client, "cautions")
    for words in ("555 0100", "555 0199", "grapes, raisins, currants, sultanas", WORDS):
        assert words in text


def test_number_that_cannot_be_dialled_is_refused(keeper_client: Client, actor: Actor) -> None:
    answer = keeper_client.post(
        reverse("settings"),
        {"language": "en", "timezone": "Europe/Lisbon", "weight_unit": "kg", "poison_phone": "javascript:alert(1)"},
    )
    assert answer.status_code == 400
    assert set(answer.context["form"].errors) == {"poison_phone"}


def test_today_shows_treats_against_the_tenth(keeper_client: Client, dog: UUID, session: UUID) -> None:
    from pupilage.storage.models import TrainingSession

    TrainingSession.objects.update(pieces_by={"cooked chicken": 20})
    text = text_of(keeper_client, "today")
    assert "Treats: 16 of at most 78 kcal, a tenth of the day." in text


def test_small_dose_is_never_shown_as_none(keeper_client: Client, dog: UUID) -> None:
    text = text_of(keeper_client, "eaten", what="milk-chocolate", amount="0.001", dog=str(dog), weight="60")
    assert "0.001 mg/kg" in text
    assert "0.000" not in text
