"""Today: what to do now, and one-tap entries of the care log."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.core.training.record.evidence import SessionKind
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import CareEvent

pytestmark = pytest.mark.django_db


def tap(client: Client, dog: UUID, value: str, *, page: UUID | None = None, htmx: bool = True, **fields: str) -> object:
    form = {"tap": value, "from": "today", "event_id": str(page or uuid4()), **fields}
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse("care-log", args=[dog]), form, headers=headers)


def test_empty_workspace_goes_to_the_intake(keeper_client: Client) -> None:
    assert keeper_client.get("/")["Location"] == reverse("start")


def test_proposed_session_leads_to_its_card(keeper_client: Client, programme: UUID) -> None:
    text = keeper_client.get("/").content.decode()
    assert reverse("session-card", args=[programme]) + "?behaviour=" in text
    assert "Get ready" in text


def test_open_session_comes_before_a_new_one(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Callable[..., UUID]
) -> None:
    behaviour = next(iter(load_catalogue().behaviours.values()))
    session = new_session(actor, programme, behaviour.key, behaviour.steps[0].key, ["met"], end=False)
    text = keeper_client.get("/").content.decode()
    assert reverse("live", args=[session]) in text
    assert "Get ready" not in text


def test_tap_moves_the_next_outing_and_can_be_taken_back(keeper_client: Client, dog: UUID, now: datetime) -> None:
    before = keeper_client.get("/").content.decode()
    assert "No outing logged yet" in before
    answer = tap(keeper_client, dog, "outing:wee").content.decode()
    assert "Written down: Outside: wee, 09:30." in answer
    assert "By what is usual at its age (outings so far: 1)" in answer
    event = CareEvent.objects.get()
    assert (event.kind, event.detail, event.at) == ("outing", "wee", now)
    undone = keeper_client.post(
        reverse("care-withdraw", args=[dog, event.event_id]), headers={"HX-Request": "true"}
    ).content.decode()
    assert "Taken back." in undone
    assert "No outing logged yet" in undone


def test_same_button_twice_on_one_page_is_one_entry_and_two_buttons_are_two(keeper_client: Client, dog: UUID) -> None:
    page = uuid4()
    for value in ("outing:wee", "outing:wee", "nap:start"):
        assert tap(keeper_client, dog, value, page=page).status_code == 200
    assert sorted(CareEvent.objects.values_list("kind", flat=True)) == ["nap", "outing"]


def test_tap_without_javascript_comes_back_to_today(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, "play:", htmx=False)
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_meal_is_taken_off_the_ration(keeper_client: Client, dog: UUID) -> None:
    assert "210\N{NO-BREAK SPACE}g of 210\N{NO-BREAK SPACE}g" in keeper_client.get("/").content.decode()
    assert (
        "150\N{NO-BREAK SPACE}g of 210\N{NO-BREAK SPACE}g"
        in tap(keeper_client, dog, "meal:", amount_g="60,4").content.decode()
    )


def test_impossible_meal_is_refused_in_place(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, "meal:", amount_g="60000")
    assert answer.status_code == 400
    assert "60000 g is no meal; give grams between 1 and 3000." in answer.content.decode()
    assert "<html" not in answer.content.decode()
    assert not CareEvent.objects.exists()


def test_signed_out_tap_takes_the_whole_page_to_the_sign_in(dog: UUID) -> None:
    answer = tap(Client(), dog, "outing:wee")
    assert answer["HX-Redirect"].startswith("/sign-in/")


def test_probes_are_planned_in_the_first_two_days_only(
    keeper_client: Client, programme: UUID, monkeypatch: pytest.MonkeyPatch, now: datetime
) -> None:
    assert "Measure first, cold" not in keeper_client.get("/").content.decode()
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now - timedelta(days=10))
    text = keeper_client.get("/").content.decode()
    assert "Measure first, cold" in text
    assert "kind=probe" in text


def test_probed_behaviour_is_not_planned_again(
    keeper_client: Client,
    actor: Actor,
    programme: UUID,
    new_session: Callable[..., UUID],
    monkeypatch: pytest.MonkeyPatch,
    now: datetime,
) -> None:
    arrival = now - timedelta(days=10)
    monkeypatch.setattr("pupilage.web.clock.now", lambda: arrival)
    behaviour = next(iter(load_catalogue().behaviours.values()))
    link = f"behaviour={behaviour.key}&amp;kind=probe"
    assert link in keeper_client.get("/").content.decode()
    at = arrival - timedelta(hours=1)
    new_session(actor, programme, behaviour.key, behaviour.steps[0].key, ["missed"] * 5, at=at, kind=SessionKind.PROBE)
    assert link not in keeper_client.get("/").content.decode()


def test_decision_that_waits_is_shown_with_its_reason(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Callable[..., UUID]
) -> None:
    behaviour = next(iter(load_catalogue().behaviours.values()))
    new_session(actor, programme, behaviour.key, behaviour.steps[0].key, ["met"] * 10)
    text = keeper_client.get("/").content.decode()
    assert f"{behaviour.name}: Raise" in text
    assert "10 of 10 met, and the next step should be met about" in text


def test_resident_dog_and_vet_dates_stand_in_the_margin(keeper_client: Client, programme: UUID) -> None:
    text = keeper_client.get("/").content.decode()
    assert "Also at home: Moss." in text
    assert "Fri 15 May: second vaccination" in text


def test_page_that_lies_open_is_told_when_the_outing_is_due(
    keeper_client: Client, dog: UUID, monkeypatch: pytest.MonkeyPatch, now: datetime
) -> None:
    tap(keeper_client, dog, "outing:wee")
    path = reverse("outing", args=[dog])
    assert "due since" not in keeper_client.get(path).content.decode()
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now + timedelta(hours=2))
    text = keeper_client.get(path).content.decode()
    assert "due since" in text
    assert "<html" not in text
