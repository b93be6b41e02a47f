"""The pages of progress: a stay without a session, a behaviour never tried, one try alone, and a whole record."""

import re
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from pupilage.core.access import Actor
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.read_programme_progress import read_programme_progress
from pupilage.services.read_progress import read_progress
from pupilage.storage.models import Dog, SessionEvent

pytestmark = pytest.mark.django_db

STEPS = ("first-instant", "one-second", "five-seconds")
OUTCOMES = ["met"] * 7 + ["missed"]


@pytest.fixture
def trained(actor: Actor, programme: UUID, new_session: Any, now: datetime) -> UUID:
    """Six days of “stay”: a probe first, then two rounds of three steps, in two places and with two people."""
    at = now - timedelta(days=7)
    new_session(actor, programme, "stay", STEPS[0], ["met", "missed"] * 2, at=at, kind=SessionKind.PROBE)
    for days in range(6, 0, -1):
        named = {"place": "Küche" if days % 2 else "公园 🌳", "handler": "" if days > 2 else "سلمى"}
        step = STEPS[(6 - days) % 3]
        new_session(actor, programme, "stay", step, OUTCOMES, at=now - timedelta(days=days), **named)
    return programme


def get(client: Client, name: str, *of: object) -> str:
    answer = client.get(reverse(name, args=of))
    assert answer.status_code == 200
    return answer.content.decode()


def test_behaviours_page_shows_the_way_with_a_sentence_for_each_chart(keeper_client: Client, trained: UUID) -> None:
    text = get(keeper_client, "behaviour-progress", trained, "stay")
    assert "2 of 4 met, cold" in text
    assert "of the time, likely between" in text
    captions = re.findall(r'<figcaption id="([^"]+)">([^<]+)</figcaption>', text)
    named_by = re.findall(r'<svg role="img" aria-labelledby="([^"]+)"', text)
    assert [key for key, _ in captions] == named_by
    assert len(captions) >= 3
    assert all(sentence.strip() for _, sentence in captions)


def test_places_and_people_are_named_as_they_were_written(keeper_client: Client, trained: UUID) -> None:
    text = get(keeper_client, "behaviour-progress", trained, "stay")
    for name in ("Küche", "公园 🌳", "سلمى", "the trainer", "place not said"):
        assert name in text


def test_figures_on_the_page_are_those_of_the_service(
    keeper_client: Client, actor: Actor, trained: UUID, now: datetime
) -> None:
    from pupilage.reports.formatting import show_chance

    way = read_progress(actor, trained, "stay", now=now).way
    text = get(keeper_client, "behaviour-progress", trained, "stay")
    assert way.today is not None
    for figure in (way.today.p, way.today.low, way.today.high, *(way.retention.p if way.retention else ())):
        assert show_chance(figure) in text
    assert f"{way.n_trials} tries" in text


def test_never_tried_says_so_and_offers_a_first_session(keeper_client: Client, trained: UUID) -> None:
    text = get(keeper_client, "behaviour-progress", trained, "sit")
    assert "Never tried yet" in text
    assert f"{reverse('session-card', args=[trained])}?behaviour=sit" in text
    assert "<figure" not in text
    assert "Nothing to count yet" in get(keeper_client, "celeration", trained, "sit")


def test_one_try_alone_gives_a_decent_page(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Any
) -> None:
    new_session(actor, programme, "sit", "lure", ["met"])
    text = get(keeper_client, "behaviour-progress", programme, "sit")
    assert "1 try, days: 1" in text
    assert text.count("<figure") == 1
    assert "No map" in text
    assert "has 1 of 5 days" not in text
    assert "not enough on record" in get(keeper_client, "programme-progress", programme)


def test_one_void_try_is_no_try(keeper_client: Client, actor: Actor, programme: UUID, new_session: Any) -> None:
    new_session(actor, programme, "sit", "lure", ["void"])
    assert "Never tried yet" in get(keeper_client, "behaviour-progress", programme, "sit")


def test_stay_without_a_session_or_a_goal_is_a_decent_page(keeper_client: Client, actor: Actor, intake: Any) -> None:
    from pupilage.services.start_programme import start_programme

    now = datetime.fromisoformat("2026-05-12T08:30:00+00:00")
    bare = start_programme(actor, intake, now=now)
    text = get(keeper_client, "programme-progress", bare)
    assert "No goals yet." in text
    assert "<figure" not in text


@pytest.mark.parametrize("name", ["سلمى", "小明", "🐾🐾🐾", "<b>Moss</b>"])
def test_dog_of_any_name_has_its_pages(keeper_client: Client, trained: UUID, name: str) -> None:
    from django.utils.html import escape

    Dog.objects.filter(is_resident=False).update(name=name)
    for page in (
        get(keeper_client, "programme-progress", trained),
        get(keeper_client, "behaviour-progress", trained, "stay"),
        get(keeper_client, "celeration", trained, "stay"),
    ):
        assert escape(name) in page
        assert "<b>Moss" not in page


def test_celeration_page_counts_every_watched_day(keeper_client: Client, trained: UUID) -> None:
    text = get(keeper_client, "celeration", trained, "stay")
    assert "From 6 days" in text
    assert "×" in text or "÷" in text
    assert text.count('<tr><th scope="row">') >= 8


def test_behaviour_that_is_not_in_the_catalogue_is_not_found(keeper_client: Client, trained: UUID) -> None:
    assert keeper_client.get(reverse("behaviour-progress", args=[trained, "somersault"])).status_code == 404


def test_goals_show_both_chances_once_there_is_enough(
    keeper_client: Client, actor: Actor, small: UUID, new_session: Any, now: datetime
) -> None:
    goals = read_programme_progress(actor, small, now=now).goals
    key, steps = goals[0].behaviour.key, goals[0].behaviour.steps
    for days in range(5, 0, -1):
        new_session(actor, small, key, steps[0].key, OUTCOMES, at=now - timedelta(days=days))
    page = read_programme_progress(actor, small, now=now)
    goal = page.goals[0]
    assert goal.now is not None
    assert goal.then is not None
    assert goal.now.low <= goal.now.p <= goal.now.high
    text = get(keeper_client, "programme-progress", small)
    assert text.count("<figure") == 1
    assert "Would pass today" in text
    assert "At the hand-over" in text


def test_pages_are_linked_from_where_the_trainer_looks(keeper_client: Client, trained: UUID) -> None:
    own = reverse("behaviour-progress", args=[trained, "stay"])
    whole = reverse("programme-progress", args=[trained])
    assert whole in get(keeper_client, "programme", trained)
    assert whole in get(keeper_client, "today")
    assert own in get(keeper_client, "behaviour", "stay")
    assert own in get(keeper_client, "thresholds", trained, "stay")
    assert reverse("celeration", args=[trained, "stay"]) in get(keeper_client, "behaviour-progress", trained, "stay")


def test_reading_writes_nothing(keeper_client: Client, trained: UUID) -> None:
    before = SessionEvent.objects.count()
    get(keeper_client, "behaviour-progress", trained, "stay")
    get(keeper_client, "programme-progress", trained)
    assert SessionEvent.objects.count() == before


def test_page_asks_the_database_little(
    keeper_client: Client, trained: UUID, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    get(keeper_client, "behaviour-progress", trained, "stay")
    with django_assert_max_num_queries(14):
        get(keeper_client, "behaviour-progress", trained, "stay")


def test_new_try_of_today_is_on_the_page_at_once(
    keeper_client: Client, actor: Actor, trained: UUID, new_session: Any
) -> None:
    before = get(keeper_client, "behaviour-progress", trained, "stay")
    new_session(actor, trained, "stay", STEPS[2], ["met"] * 5, place="barn")
    after = get(keeper_client, "behaviour-progress", trained, "stay")
    assert "52 tries" in before
    assert "57 tries" in after
    assert "barn" in after
