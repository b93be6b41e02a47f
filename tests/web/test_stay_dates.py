"""A mistyped date of a stay can be put right."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.storage.models import AuditEntry, Programme

pytestmark = pytest.mark.django_db


def change(client: Client, programme: UUID, **fields: str) -> object:
    form = {
        "arrival_on": "2026-05-02",
        "handover_on": "2026-05-30",
        "sessions_a_day": "5",
        "outing_risk": "8",
        **fields,
    }
    return client.post(reverse("stay-dates", args=[programme]), form)


def test_page_shows_the_dates_as_they_are(keeper_client: Client, programme: UUID) -> None:
    text = keeper_client.get(reverse("stay-dates", args=[programme])).content.decode()
    assert 'value="2026-05-02"' in text
    assert 'value="2026-05-23"' in text
    assert 'name="outing_risk" value="5"' in text


def test_changed_dates_are_kept_and_audited(keeper_client: Client, programme: UUID) -> None:
    answer = change(keeper_client, programme)
    assert answer["Location"] == reverse("programme", args=[programme])
    row = Programme.objects.get(id=programme)
    assert (row.handover_on, row.sessions_a_day, row.outing_risk) == (date(2026, 5, 30), 5, 0.08)
    assert AuditEntry.objects.filter(action="change-stay").count() == 1


def test_every_problem_is_said_and_nothing_is_changed(keeper_client: Client, programme: UUID) -> None:
    answer = change(keeper_client, programme, handover_on="2026-05-01", sessions_a_day="40", outing_risk="50")
    assert answer.status_code == 400
    text = answer.content.decode()
    assert "must come after the arrival" in text
    assert "from 1 to 12" in text
    assert "from 1 to 20 in a hundred" in text
    assert Programme.objects.get(id=programme).handover_on == date(2026, 5, 23)


def test_arrival_cannot_be_later_than_a_session(
    keeper_client: Client,
    actor: Actor,
    programme: UUID,
    new_session: Callable[..., UUID],
    now: object,
) -> None:
    new_session(actor, programme, "sit", "lure", ["met"], at=now - timedelta(days=5))
    answer = change(keeper_client, programme, arrival_on="2026-05-10")
    assert "There is a session of 2026-05-07" in answer.content.decode()


def test_risk_that_is_left_empty_stays_as_it_was(keeper_client: Client, programme: UUID) -> None:
    change(keeper_client, programme, outing_risk="12")
    change(keeper_client, programme, outing_risk="")
    assert Programme.objects.get(id=programme).outing_risk == 0.12
