"""The page of the plan and the what-if beside it."""

from datetime import date
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.storage.models import Goal, Programme

pytestmark = pytest.mark.django_db


def text_of(client: Client, name: str, programme: UUID, **query: str) -> str:
    return client.get(reverse(name, args=[programme]), query).content.decode()


def test_plan_is_made_by_a_button_and_shows_days_goals_and_chances(keeper_client: Client, small: UUID) -> None:
    assert "There is no plan yet." in text_of(keeper_client, "plan", small)
    answer = keeper_client.post(reverse("plan", args=[small]))
    assert answer["Location"] == reverse("plan", args=[small])
    text = text_of(keeper_client, "plan", small)
    assert "Tue 12 May" in text
    assert "Mon 18 May" in text
    assert "Tue 19 May" not in text
    assert text.count("With the plan:") == 3
    assert "these chances are what is usual" in text
    assert "proven." in text


def test_stay_links_to_its_plan(keeper_client: Client, small: UUID) -> None:
    assert reverse("plan", args=[small]) in text_of(keeper_client, "programme", small)


def test_reason_stands_on_the_page_where_no_plan_can_be_made(keeper_client: Client, small: UUID) -> None:
    Goal.objects.filter(programme=small).delete()
    keeper_client.post(reverse("plan", args=[small]))
    text = text_of(keeper_client, "plan", small)
    assert "There is nothing to plan" in text
    assert "Choose goals first." in text


def test_days_off_are_kept_on_the_page_of_the_dates(keeper_client: Client, small: UUID) -> None:
    form = {"arrival_on": "2026-05-02", "handover_on": "2026-05-23", "sessions_a_day": "4"}
    keeper_client.post(reverse("stay-dates", args=[small]), {**form, "days_off": "2026-05-17, 2026-05-14"})
    assert Programme.objects.get(id=small).days_off == ["2026-05-14", "2026-05-17"]
    assert 'value="2026-05-14, 2026-05-17"' in text_of(keeper_client, "stay-dates", small)
    refused = keeper_client.post(reverse("stay-dates", args=[small]), {**form, "days_off": "Sunday"})
    assert refused.status_code == 400
    assert "Give days such as" in refused.content.decode()


def test_what_if_shows_both_and_changes_nothing_until_it_is_accepted(keeper_client: Client, small: UUID) -> None:
    wish = {"handover_on": "2026-05-20", "sessions_a_day": "2", "days_off": "2026-05-14"}
    text = text_of(keeper_client, "plan-what-if", small, **wish)
    assert "Nothing is changed yet." in text
    assert Programme.objects.get(id=small).handover_on == date(2026, 5, 23)
    answer = keeper_client.post(reverse("plan-what-if", args=[small]), wish)
    assert answer["Location"] == reverse("plan", args=[small])
    row = Programme.objects.get(id=small)
    assert (row.handover_on, row.sessions_a_day, row.days_off) == (date(2026, 5, 20), 2, ["2026-05-14"])


def test_what_if_says_what_is_wrong_beside_its_field(keeper_client: Client, small: UUID) -> None:
    answer = keeper_client.get(reverse("plan-what-if", args=[small]), {"sessions_a_day": "40"})
    assert answer.status_code == 400
    assert "from 1 to 12" in answer.content.decode()
