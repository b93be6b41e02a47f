"""The plan is made, kept, and outlives an attempt that fails."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.planning.programme.what_if import Wish
from pupilage.services.accept_wish import accept_wish
from pupilage.services.change_stay import Stay, change_stay
from pupilage.services.compare_programme_plans import compare_programme_plans
from pupilage.services.plan_programme import plan_if_due, plan_programme
from pupilage.services.read_plan import kept_plan_of, read_plan
from pupilage.services.set_goals import set_goals
from pupilage.storage.models import AuditEntry, Goal, Programme, ProgrammePlan

pytestmark = pytest.mark.django_db

EVERY_DAY = tuple(date(2026, 5, 12) + timedelta(days=n) for n in range(11))


def test_plan_is_kept_once_and_read_back_as_it_was(actor: Actor, small: UUID, now: datetime) -> None:
    assert read_plan(actor, small, now=now).kept.plan is None
    made = plan_programme(actor, small, now=now)
    again = plan_programme(actor, small, now=now)
    assert made.plan is not None
    assert any(day.sessions for day in made.plan.days)
    assert made.plan == again.plan == read_plan(actor, small, now=now).kept.plan
    assert ProgrammePlan.objects.count() == 1
    assert AuditEntry.objects.filter(action="plan-programme").count() == 2


def test_plan_is_made_anew_only_where_something_has_changed(actor: Actor, small: UUID, now: datetime) -> None:
    made = plan_if_due(actor, small, now=now)
    assert plan_if_due(actor, small, now=now + timedelta(hours=1)) == made
    tomorrow = plan_if_due(actor, small, now=now + timedelta(days=1))
    assert tomorrow.made_at > made.made_at
    assert AuditEntry.objects.filter(action="plan-programme").count() == 2


def test_last_good_plan_stays_when_a_new_one_cannot_be_made(actor: Actor, small: UUID, now: datetime) -> None:
    good = plan_programme(actor, small, now=now).plan
    stay = Stay(date(2026, 5, 2), date(2026, 5, 23), 4, days_off=EVERY_DAY)
    change_stay(actor, small, stay, now=now)
    kept = plan_programme(actor, small, now=now)
    assert kept.plan == good
    assert "No day before the hand-over" in str(kept.trouble.what)
    change_stay(actor, small, replace(stay, days_off=()), now=now)
    assert plan_programme(actor, small, now=now).trouble is None


def test_stay_without_goals_says_so_and_keeps_no_plan(actor: Actor, small: UUID, now: datetime) -> None:
    set_goals(actor, small, [], now=now)
    kept = plan_programme(actor, small, now=now)
    assert kept.plan is None
    assert "no goals" in str(kept.trouble.what)


def test_trainer_with_few_minutes_a_day_gets_fewer_sessions_and_may_lift_the_limit(
    actor: Actor, small: UUID, now: datetime
) -> None:
    def n_sessions() -> int:
        return sum(len(day.sessions) for day in plan_programme(actor, small, now=now).plan.days)

    usual = n_sessions()
    accept_wish(actor, small, Wish(minutes_a_day=45), now=now)
    assert Programme.objects.get(id=small).minutes_a_day == 45
    few = n_sessions()
    assert few < usual
    accept_wish(actor, small, Wish(sessions_a_day=4), now=now)
    assert n_sessions() == few, "another wish leaves the minutes as they are"
    accept_wish(actor, small, Wish(minutes_a_day=0), now=now)
    assert (n_sessions(), Programme.objects.get(id=small).minutes_a_day) == (usual, None)


@pytest.mark.parametrize("minutes", [-5, 3, 1000])
def test_minutes_that_no_day_has_are_refused(actor: Actor, small: UUID, now: datetime, minutes: int) -> None:
    with pytest.raises(InvalidInput, match="minutes a day"):
        accept_wish(actor, small, Wish(minutes_a_day=minutes), now=now)


def test_plan_is_stale_when_dates_goals_or_the_day_change(actor: Actor, small: UUID, now: datetime) -> None:
    plan_programme(actor, small, now=now)
    assert not read_plan(actor, small, now=now).is_stale
    assert read_plan(actor, small, now=now + timedelta(days=1)).is_stale
    change_stay(actor, small, Stay(date(2026, 5, 2), date(2026, 5, 24), 4), now=now)
    assert read_plan(actor, small, now=now).is_stale


def test_sessions_of_today_leave_the_plan_of_the_day_standing(
    actor: Actor, small: UUID, new_session: Callable[..., UUID], now: datetime
) -> None:
    plan_programme(actor, small, now=now)
    goal = Goal.objects.filter(programme=small).order_by("behaviour").first()
    new_session(actor, small, goal.behaviour, goal.step, ["met"] * 5)
    assert not read_plan(actor, small, now=now).is_stale
    assert plan_programme(actor, small, now=now).plan.goal(goal.behaviour).n_sessions >= 1


def test_what_if_writes_nothing(actor: Actor, small: UUID, now: datetime) -> None:
    with CaptureQueriesContext(connection) as caught:
        both = compare_programme_plans(actor, small, Wish(sessions_a_day=2), now=now)
    assert not [q for q in caught.captured_queries if not q["sql"].startswith("SELECT")]
    assert max(day.n_room for day in both.then.days) == 2
    assert max(day.n_room for day in both.now.days) == 4


def test_accepted_wish_changes_the_stay_its_goals_and_the_plan(actor: Actor, small: UUID, now: datetime) -> None:
    first, second, _ = Goal.objects.filter(programme=small).order_by("behaviour")
    wish = Wish(
        handover_on=date(2026, 5, 20),
        sessions_a_day=3,
        days_off=(date(2026, 5, 14),),
        weights={first.behaviour: 1, second.behaviour: 0},
    )
    kept = accept_wish(actor, small, wish, now=now)
    programme = Programme.objects.get(id=small)
    assert (programme.handover_on, programme.sessions_a_day, programme.days_off) == (
        date(2026, 5, 20),
        3,
        ["2026-05-14"],
    )
    assert {goal.behaviour for goal in kept.plan.goals} == {
        goal.behaviour for goal in programme.goals.filter(dropped_at=None)
    }
    assert kept.plan.goal(first.behaviour).weight == 1
    assert kept.plan.goal(second.behaviour) is None
    assert kept.plan.days[-1].day == date(2026, 5, 19)


def test_refused_wish_changes_nothing(actor: Actor, small: UUID, now: datetime) -> None:
    behaviour = Goal.objects.filter(programme=small).first().behaviour
    with pytest.raises(InvalidInput):
        accept_wish(actor, small, Wish(handover_on=date(2026, 5, 9), weights={behaviour: 1}), now=now)
    assert Programme.objects.get(id=small).handover_on == date(2026, 5, 23)
    assert not Goal.objects.filter(programme=small, weight=1).exists()


def test_reader_and_stranger_may_not_plan(
    reader: Actor, stranger: Actor, actor: Actor, small: UUID, now: datetime
) -> None:
    for who, error in ((reader, Forbidden), (stranger, NotFound)):
        with pytest.raises(error):
            plan_programme(who, small, now=now)
        with pytest.raises(error):
            accept_wish(who, small, Wish(sessions_a_day=2), now=now)
    assert read_plan(reader, small, now=now).head.id == small


def test_kept_plan_takes_one_query(actor: Actor, small: UUID, now: datetime) -> None:
    plan_programme(actor, small, now=now)
    programme = Programme.objects.get(id=small)
    with CaptureQueriesContext(connection) as caught:
        assert kept_plan_of(programme).plan is not None
    assert len(caught) == 1
