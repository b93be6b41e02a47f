"""The decisions that a phone may look up while it hears nothing."""

from datetime import timedelta
from itertools import product
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db


def ahead_of(client: Client, session: UUID) -> dict:
    answer = client.get(reverse("sync-ahead", args=[session]))
    assert answer.status_code == 200
    return answer.json()


def test_row_of_no_further_try_is_the_decision_that_stands(keeper_client, actor, programme, new_session, now):
    session = new_session(actor, programme, "sit", "word", ["met", "missed", "met"], at=now, end=False)
    ahead = ahead_of(keeper_client, session)
    state = keeper_client.get(reverse("sync-session", args=[session])).json()
    assert ahead["says"][ahead["rows"][""]] == state["decision"]
    assert (ahead["step"], ahead["n"], ahead["after"]) == ("word", 3, state["trials"][-1]["event"])
    assert {"".join(outcomes) for n in range(4) for outcomes in product("mxh", repeat=n)} <= set(ahead["rows"])


def test_session_that_is_over_has_no_table(keeper_client, actor, programme, new_session, now):
    session = new_session(actor, programme, "sit", "word", ["met"], at=now - timedelta(hours=1))
    assert ahead_of(keeper_client, session) == {"rows": {}}
