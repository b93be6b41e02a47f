"""The Today page stays quick with a long stay behind it: few queries, whatever stands in the database."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from pupilage.core.access import Actor
from pupilage.services.make_day_plan import FIRST_S, make_day_plan
from pupilage.storage.catalogue_files import load_catalogue

pytestmark = pytest.mark.django_db

MOST_QUERIES = 11
"""Fewer than 12, those for the session, the user and the membership included (the project's budget)."""


def n_queries(client: Client) -> int:
    with CaptureQueriesContext(connection) as caught:
        assert client.get("/").status_code == 200
    return len(caught)


def test_today_takes_fewer_than_twelve_queries(keeper_client: Client, session: UUID) -> None:
    n = n_queries(keeper_client)
    assert n <= MOST_QUERIES


def test_timetable_takes_one_query_of_those(
    keeper_client: Client, actor: Actor, programme: UUID, session: UUID, now: datetime
) -> None:
    """It is read as one join; the dates with the veterinarian and the other dogs are read as another, to make room."""
    without = n_queries(keeper_client)
    make_day_plan(actor, programme, now.date(), now=now, seconds=FIRST_S)
    assert n_queries(keeper_client) <= min(without, MOST_QUERIES)


def test_more_sessions_and_goals_take_no_more_queries(
    keeper_client: Client, actor: Actor, programme: UUID, new_session: Callable[..., UUID], now: datetime
) -> None:
    few = n_queries(keeper_client)
    for n, behaviour in enumerate(list(load_catalogue().behaviours.values())[:6]):
        step = behaviour.steps[0].key
        new_session(actor, programme, behaviour.key, step, ["met"] * 10, at=now - timedelta(days=n, hours=1))
    assert n_queries(keeper_client) == few
