"""Meeting the world: today's few, one item, one tap to write down, one to take back."""

from datetime import datetime
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.settings.environment import data_folder
from pupilage.storage.models import Dog, ExposureEvent

pytestmark = pytest.mark.django_db

HTMX = {"headers": {"HX-Request": "true"}}


def page(client: Client, programme: UUID, item: str = "") -> str:
    name, args = ("exposure", [programme, item]) if item else ("exposures", [programme])
    return client.get(reverse(name, args=args)).content.decode()


def tap(client: Client, programme: UUID, item: str = "grass", *, htmx: bool = True, **fields: str) -> object:
    given = {"response": "calm", "intensity": "1", "with_food": "on", "from": "today", **fields}
    return client.post(reverse("exposure-log", args=[programme, item]), given, **(HTMX if htmx else {}))


def take_back(client: Client, programme: UUID, *, htmx: bool = True, place: str = "today") -> object:
    event = ExposureEvent.objects.filter(kind="met").latest("id").event_id
    path = reverse("exposure-withdraw", args=[programme, event])
    return client.post(path, {"from": place}, **(HTMX if htmx else {}))


def test_page_says_days_left_and_what_the_veterinarian_decides(keeper_client: Client, programme: UUID) -> None:
    """Born on 25 February, seen on 12 May 2026: twelve weeks are on 20 May, fourteen on 3 June."""
    text = page(keeper_client, programme)
    assert "begin to close in 8 days, and are over in about 22" in text
    assert "The veterinarian decides" in text
    for words in ("vaccinations", "puppy meetings", "parks"):
        assert words in text


def test_today_comes_before_the_whole_list(keeper_client: Client, programme: UUID) -> None:
    text = page(keeper_client, programme)
    assert text.index('id="exposures-today"') < text.index("Everything to meet")
    assert text.count('class="meeting"') == 5
    assert text.count('id="row-') == 60


def test_stay_and_today_lead_to_it(keeper_client: Client, programme: UUID) -> None:
    path = reverse("exposures", args=[programme])
    for address in (reverse("today"), reverse("programme", args=[programme])):
        assert f'href="{path}"' in keeper_client.get(address).content.decode()


def test_one_tap_stores_the_meeting_and_answers_in_its_place(
    keeper_client: Client, programme: UUID, now: datetime
) -> None:
    answer = tap(keeper_client, programme)
    row = ExposureEvent.objects.get()
    assert (row.item, row.response, row.intensity, row.with_food, row.at) == ("grass", "calm", 1, True, now)
    text = answer.content.decode()
    assert "Written down: calm, 09:30." in text
    assert 'name="response"' not in text  # no other button comes under the thumb
    assert 'id="row-grass" hx-swap-oob="true"' in text
    assert "HX-Retarget" not in answer


def test_tap_without_javascript_stores_it_too(keeper_client: Client, programme: UUID) -> None:
    answer = tap(keeper_client, programme, htmx=False)
    assert answer["Location"] == reverse("exposures", args=[programme])
    answer = tap(keeper_client, programme, htmx=False, **{"from": "item"})
    assert answer["Location"] == reverse("exposure", args=[programme, "grass"])
    assert ExposureEvent.objects.count() == 2


def test_same_button_twice_on_one_showing_is_one_entry(keeper_client: Client, programme: UUID) -> None:
    nonce = str(uuid4())
    for _ in range(2):
        tap(keeper_client, programme, event_id=nonce)
    tap(keeper_client, programme, event_id=nonce, response="unsure")
    assert ExposureEvent.objects.count() == 2


def test_taking_back_brings_the_buttons_back(keeper_client: Client, programme: UUID) -> None:
    tap(keeper_client, programme)
    text = take_back(keeper_client, programme).content.decode()
    assert 'name="response"' in text
    assert "not met yet" in text
    assert take_back(keeper_client, programme, htmx=False)["Location"] == reverse("exposures", args=[programme])
    assert ExposureEvent.objects.count() == 2


def test_fear_puts_todays_list_away_and_taking_it_back_brings_it_again(keeper_client: Client, programme: UUID) -> None:
    answer = tap(keeper_client, programme, response="afraid")
    assert answer["HX-Retarget"] == "#exposures-today"
    text = answer.content.decode()
    assert "Something was too much today" in text
    assert 'name="response"' not in text
    assert "held back, not before Fri 15 May" in page(keeper_client, programme).replace("\n", " ")
    answer = take_back(keeper_client, programme)
    assert answer["HX-Retarget"] == "#exposures-today"
    assert answer.content.decode().count('class="meeting"') == 5


def test_item_page_says_how_to_begin_and_keeps_the_last_values_as_defaults(
    keeper_client: Client, programme: UUID
) -> None:
    assert "It stands still and is off" in page(keeper_client, programme, "vacuum-cleaner")
    tap(keeper_client, programme, "vacuum-cleaner", intensity="2", distance_m="7,5", response="unsure")
    form = keeper_client.get(reverse("exposure", args=[programme, "vacuum-cleaner"])).context["form"]
    assert (form["intensity"].value(), form["distance_m"].value()) == (2, "7.5")
    assert form["recovery_s"].value() is None


def test_item_that_is_proposed_today_begins_with_the_proposal(keeper_client: Client, programme: UUID) -> None:
    card = keeper_client.get(reverse("exposures", args=[programme])).context["cards"][0]
    form = keeper_client.get(reverse("exposure", args=[programme, card.item.key])).context["form"]
    assert form["intensity"].value() == card.proposal.intensity


def test_item_page_answers_in_place_and_lists_its_meetings(keeper_client: Client, programme: UUID) -> None:
    text = tap(
        keeper_client, programme, response="worried", recovery_s="200", note="Behind the van.", **{"from": "item"}
    ).content.decode()
    assert 'id="exposure-now"' in text
    assert 'name="response"' not in text
    assert "Not to be practised now" in text
    assert "veterinary behaviourist" in text
    assert "itself again after 3\N{NO-BREAK SPACE}min\N{NO-BREAK SPACE}20\N{NO-BREAK SPACE}s" in text
    assert "Behind the van." in text
    assert "Taken back." in take_back(keeper_client, programme, place="item").content.decode()


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"at": "2026-05-12T23:15"}, "This time is in the future"),
        ({"intensity": "0"}, "0 is not one of the available choices"),
        ({"intensity": "6"}, "6 is not one of the available choices"),
        ({"distance_m": "nan"}, "Give a number"),
        ({"distance_m": "900"}, "900 m is no distance"),
        ({"recovery_s": "-4"}, "-4 s is no time to recover"),
        ({"response": "furious"}, "furious is not one of the available choices"),
        ({"intensity": ""}, "This was not written down"),
    ],
)
@pytest.mark.parametrize("htmx", [True, False])
def test_bad_value_is_refused_and_said(
    keeper_client: Client, programme: UUID, fields: dict[str, str], told: str, htmx: bool
) -> None:
    answer = tap(keeper_client, programme, htmx=htmx, **fields)
    assert answer.status_code == 400
    assert told in answer.content.decode()
    assert not ExposureEvent.objects.exists()


def test_unknown_item_is_refused(keeper_client: Client, programme: UUID) -> None:
    assert tap(keeper_client, programme, "unicorn").status_code == 400
    assert keeper_client.get(reverse("exposure", args=[programme, "unicorn"])).status_code == 404


def test_earlier_time_is_read_in_the_workspaces_zone(keeper_client: Client, programme: UUID) -> None:
    tap(keeper_client, programme, at="2026-05-11T17:05")
    assert ExposureEvent.objects.get().at.isoformat() == "2026-05-11T16:05:00+00:00"


def test_veterinarians_yes_is_one_tap_and_taken_back_in_one(keeper_client: Client, programme: UUID) -> None:
    def waits() -> bool:
        return "Until then:" in page(keeper_client, programme, "quiet-street")

    assert waits()
    answer = keeper_client.post(reverse("vet-word", args=[programme]), {"topic": "ground"})
    assert answer["Location"] == reverse("exposures", args=[programme])
    assert not waits()
    assert "yes, written down Tue 12 May" in page(keeper_client, programme)
    word = ExposureEvent.objects.get(kind="vet-word").event_id
    keeper_client.post(reverse("exposure-withdraw", args=[programme, word]))
    assert waits()
    assert keeper_client.post(reverse("vet-word", args=[programme]), {"topic": "stairs"}).status_code == 400


def test_unwell_pup_is_proposed_nothing_and_can_still_be_written_about(
    keeper_client: Client, programme: UUID, dog: UUID
) -> None:
    Dog.objects.filter(id=dog).update(signs="limping")
    text = page(keeper_client, programme)
    assert "The pup is not well" in text
    assert 'class="meeting"' not in text
    assert tap(keeper_client, programme).status_code == 200


def test_faulty_own_file_is_told_on_the_page(keeper_client: Client, programme: UUID) -> None:
    folder = data_folder() / "exposures"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text('[[exposure]]\nkey = "sheep"\ngroup = "cattle"', encoding="utf-8")
    text = page(keeper_client, programme)
    assert "Your own files of what to meet are not used" in text
    assert "mine.toml: sheep.group: “cattle” is unknown here" in text


def test_another_dogs_entry_is_not_found(
    keeper_client: Client, actor: Actor, programme: UUID, new_programme: object
) -> None:
    tap(keeper_client, programme)
    other = new_programme(actor)
    event = ExposureEvent.objects.get().event_id
    assert keeper_client.post(reverse("exposure-withdraw", args=[other, event])).status_code == 404
