"""What the disk refuses reaches the person as a sentence, on a page and on the session screen's push."""

import json
import sqlite3
from uuid import UUID, uuid4

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.services.read_owner import read_owner

pytestmark = pytest.mark.django_db


def full_disk(*_: object, **__: object) -> None:
    """Fail as Django does when SQLite finds the disk full."""
    cause = sqlite3.OperationalError("database or disk is full")
    cause.sqlite_errorname = "SQLITE_FULL"
    raise OperationalError("database or disk is full") from cause


def test_full_disk_is_said_on_a_page(keeper_client: Client, dog: UUID, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pupilage.web.views.care.log_care", full_disk)
    answer = keeper_client.post(
        reverse("care-log", args=[dog]), {"tap": "outing:wee", "from": "today", "event_id": str(uuid4())}
    )
    assert answer.status_code == 507
    assert "The disk is full" in answer.content.decode()
    assert "Nothing you entered before was lost." in answer.content.decode()


def test_full_disk_is_answered_to_a_push_so_that_the_phone_keeps_everything(
    keeper_client: Client, actor: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pupilage.web.sync.views.record_events", full_disk)
    body = json.dumps({"owner": read_owner(actor), "events": []})
    answer = keeper_client.post(reverse("sync-push"), body, content_type="application/json")
    assert answer.status_code == 507
    assert "verdicts" not in answer.json()
    assert "free some space" in answer.json()["problems"][0]


def test_fault_of_our_own_is_not_explained_away(
    keeper_client: Client, dog: UUID, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("pupilage.web.views.care.log_care", broken)
    with pytest.raises(ZeroDivisionError):
        keeper_client.post(
            reverse("care-log", args=[dog]), {"tap": "outing:wee", "from": "today", "event_id": str(uuid4())}
        )
