"""Today's sessions: of the kept plan, less what was held; as proposed where there is no plan."""

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from pupilage.core.access import Actor
from pupilage.core.planning.planned_session import PlannedSession
from pupilage.core.planning.programme.plan import sessions_of_day
from pupilage.core.planning.standing import Standing
from pupilage.services.find_sessions_of_day import find_sessions_of_day
from pupilage.services.know_dog import know_dog
from pupilage.services.plan_programme import plan_programme
from pupilage.services.read_programme import standings_of
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import programme_readable_by

pytestmark = pytest.mark.django_db


def read(actor: Actor, programme_id: UUID, now: datetime) -> tuple[Programme, list[Standing]]:
    programme = programme_readable_by(actor, programme_id)
    return programme, standings_of(actor, programme, know_dog(actor, programme), now=now, compare=False)


def found(actor: Actor, programme_id: UUID, now: datetime) -> tuple[PlannedSession, ...]:
    return find_sessions_of_day(actor, *read(actor, programme_id, now), now=now)


def test_sessions_are_those_of_the_plan_and_take_one_query(actor: Actor, small: UUID, now: datetime) -> None:
    plan = plan_programme(actor, small, now=now).plan
    programme, standings = read(actor, small, now)
    with CaptureQueriesContext(connection) as caught:
        sessions = find_sessions_of_day(actor, programme, standings, now=now)
    assert len(caught) == 1
    assert sessions == sessions_of_day(plan, now.date())
    assert sessions


def test_session_held_since_is_left_out_and_one_held_before_the_plan_is_not_taken_off_twice(
    actor: Actor, small: UUID, new_session: Callable[..., UUID], now: datetime
) -> None:
    plan = plan_programme(actor, small, now=now).plan
    first = sessions_of_day(plan, now.date())[0]
    new_session(actor, small, first.behaviour, first.step, ["met"] * 5)
    assert found(actor, small, now) == sessions_of_day(plan, now.date())[1:]
    anew = plan_programme(actor, small, now=now).plan
    assert anew.held == {first.behaviour: 1}
    assert found(actor, small, now) == sessions_of_day(anew, now.date())


def test_plan_made_yesterday_still_serves(actor: Actor, small: UUID, now: datetime) -> None:
    plan = plan_programme(actor, small, now=now - timedelta(days=1)).plan
    assert found(actor, small, now) == sessions_of_day(plan, now.date())


def test_without_a_plan_the_proposal_fills_the_sessions_left(
    actor: Actor, small: UUID, new_session: Callable[..., UUID], now: datetime
) -> None:
    assert len(found(actor, small, now)) == 4
    new_session(actor, small, "sit", "lure", ["met"] * 5)
    sessions = found(actor, small, now)
    assert len(sessions) == 3
    assert all(one.minutes == 3 and one.pieces == 10 for one in sessions)
