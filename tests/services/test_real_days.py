"""Timetables by the real solver: a fresh stay, awkward days, and what cannot be planned."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from uuid import UUID

import pytest

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.planning.programme.plan import sessions_of_day
from pupilage.services.change_day_frame import change_day_frame
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.make_day_plan import FIRST_S, follow_events, make_day_plan
from pupilage.services.mark_block import Mark, mark_block
from pupilage.services.plan_programme import plan_programme
from pupilage.services.read_day_plan import StoredPlan, find_day_plan
from pupilage.services.save_appointment import NewAppointment, save_appointment
from pupilage.storage.models import DayPlan, PlanBlock

pytestmark = pytest.mark.django_db

DAY = date(2026, 5, 12)
DAWN = datetime(2026, 5, 12, 4, 0, tzinfo=UTC)
"""Five in Lisbon: before waking."""


def made(actor: Actor, programme: UUID, day: date = DAY, *, now: datetime = DAWN) -> StoredPlan:
    return make_day_plan(actor, programme, day, now=now, seconds=FIRST_S)


def of_kind(stored: StoredPlan, kind: BlockKind) -> list[Block]:
    return [block for block in stored.plan.blocks if block.kind is kind]


def on_the_pup(stored: StoredPlan) -> list[Block]:
    """Return the blocks that take the pup's own time: the others lie on top of a nap."""
    return [b for b in stored.plan.blocks if b.kind not in (BlockKind.RESIDENT, BlockKind.APPOINTMENT)]


def test_fresh_stay_has_a_day_with_everything_in_it(actor: Actor, programme: UUID) -> None:
    stored = made(actor, programme)
    assert len(of_kind(stored, BlockKind.MEAL)) == 4
    food_g = sum(one.bowl_g + one.pouch_g for one in of_kind(stored, BlockKind.MEAL))
    assert food_g == pytest.approx(210, abs=1), "bowl and pouch: all of the day's food"
    assert len(of_kind(stored, BlockKind.SESSION)) == 4
    assert of_kind(stored, BlockKind.RESIDENT)
    assert all(first.end <= second.start for first, second in pairwise(on_the_pup(stored)))


def test_pup_without_a_daily_ration_gets_meals_without_grams(
    actor: Actor, new_programme: Callable[..., UUID], intake: object
) -> None:
    programme = new_programme(actor, pup=replace(intake.pup, daily_food_g=None))
    assert {one.bowl_g for one in of_kind(made(actor, programme), BlockKind.MEAL)} == {None}


def test_no_goals_is_a_day_without_sessions(actor: Actor, new_programme: Callable[..., UUID]) -> None:
    stored = made(actor, new_programme(actor, n_goals=0))
    assert not of_kind(stored, BlockKind.SESSION)
    assert of_kind(stored, BlockKind.OUTING)


def test_handover_tomorrow_still_has_sessions_today_and_none_tomorrow(
    actor: Actor, new_programme: Callable[..., UUID]
) -> None:
    programme = new_programme(actor, handover_on=DAY + timedelta(days=1))
    assert of_kind(made(actor, programme), BlockKind.SESSION)
    assert not of_kind(made(actor, programme, DAY + timedelta(days=1)), BlockKind.SESSION)


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (date(2026, 3, 28), 23),  # EU directive 2000/84/EC: the last Sunday in March begins summer time at 01:00 UTC
        (date(2026, 10, 24), 25),  # and the last Sunday in October ends it
    ],
)
def test_night_in_which_the_clocks_change_is_an_hour_shorter_or_longer(
    actor: Actor, new_programme: Callable[..., UUID], day: date, hours: int
) -> None:
    programme = _stay_around(actor, new_programme, day)
    stored = made(actor, programme, day, now=datetime(day.year, day.month, day.day, 4, tzinfo=UTC))
    pup = on_the_pup(stored)
    assert pup[-1].end - pup[0].start == timedelta(hours=hours)
    assert all(first.end <= second.start for first, second in pairwise(pup))


def _stay_around(actor: Actor, new_programme: Callable[..., UUID], day: date) -> UUID:
    """Return a stay around a day that may lie behind the tests' moment."""
    from pupilage.storage.models import Dog, Programme

    programme = new_programme(actor)
    Programme.objects.filter(id=programme).update(
        arrival_on=day - timedelta(days=9), handover_on=day + timedelta(days=12)
    )
    Dog.objects.filter(programmes=programme).update(born_on=day - timedelta(weeks=11))
    return programme


def test_appointment_on_waking_names_what_clashes_and_the_last_good_plan_stays(actor: Actor, programme: UUID) -> None:
    good = made(actor, programme)
    at = DAWN + timedelta(hours=1, minutes=15)
    save_appointment(actor, programme, NewAppointment(at, at + timedelta(hours=1), "Milkman"), now=DAWN)
    stored = made(actor, programme)
    assert [str(one) for one in stored.trouble if "Milkman" in str(one)]
    assert stored.plan.blocks == good.plan.blocks


def test_first_plan_that_cannot_be_is_refused_with_what_clashes(actor: Actor, programme: UUID) -> None:
    at = DAWN + timedelta(hours=1, minutes=15)
    save_appointment(actor, programme, NewAppointment(at, at + timedelta(hours=1), "Milkman"), now=DAWN)
    with pytest.raises(InvalidInput, match="Milkman"):
        made(actor, programme)


def test_outing_in_the_future_is_refused_and_leaves_the_plan_alone(actor: Actor, programme: UUID, dog: UUID) -> None:
    before = made(actor, programme)
    with pytest.raises(InvalidInput, match="in the future"):
        log_care(actor, dog, CareEntry(CareKind.OUTING, DAWN + timedelta(hours=9), CareDetail.WEE), now=DAWN)
    assert find_day_plan(actor, programme, DAY) == before


def test_changed_frame_moves_the_day(actor: Actor, programme: UUID, dog: UUID) -> None:
    made(actor, programme)
    later = DayPreferences(wake=DayPreferences().wake.replace(hour=8))
    change_day_frame(actor, programme, later, now=DAWN)
    follow_events(actor, dog, now=DAWN)
    first = find_day_plan(actor, programme, DAY).plan.blocks[0]
    assert first.start == datetime(2026, 5, 12, 7, 30, tzinfo=UTC), "half past eight in Lisbon"


def test_accident_in_mid_day_moves_the_rest_and_leaves_what_is_over(
    actor: Actor, programme: UUID, dog: UUID, now: datetime
) -> None:
    before = made(actor, programme)
    log_care(actor, dog, CareEntry(CareKind.INDOORS, now, CareDetail.WEE), now=now)
    follow_events(actor, dog, now=now)
    after = find_day_plan(actor, programme, DAY)
    assert not after.is_stale
    over = [block for block in before.plan.blocks if block.end <= now and block.kind is not BlockKind.SESSION]
    assert all(block in after.plan.blocks for block in over), "a session that was not held is placed again"
    assert [b for b in after.plan.blocks if b.start > now] != [b for b in before.plan.blocks if b.start > now]


def test_bowls_of_a_day_stay_alike_when_it_is_planned_anew(
    actor: Actor, programme: UUID, dog: UUID, new_session: Callable[..., UUID]
) -> None:
    """The food is split over the sessions held and to come: each anew over those to come alone, bowls would grow."""
    before = made(actor, programme)
    session = of_kind(before, BlockKind.SESSION)[0]
    now = session.end + timedelta(minutes=10)
    new_session(actor, programme, session.session.behaviour, session.session.step, ["met"] * 5, at=session.start)
    follow_events(actor, dog, now=now)
    after = find_day_plan(actor, programme, DAY)
    assert not after.is_stale
    assert {one.bowl_g for one in of_kind(after, BlockKind.MEAL)} == {
        one.bowl_g for one in of_kind(before, BlockKind.MEAL)
    }


def test_day_off_of_the_stay_has_no_sessions(actor: Actor, programme: UUID) -> None:
    from pupilage.storage.models import Programme

    Programme.objects.filter(id=programme).update(days_off=[DAY.isoformat()])
    assert not of_kind(made(actor, programme), BlockKind.SESSION)


def test_plan_of_the_stay_says_what_is_trained(actor: Actor, programme: UUID) -> None:
    kept = plan_programme(actor, programme, now=DAWN)
    wanted = sessions_of_day(kept.plan, DAY)
    held = of_kind(made(actor, programme), BlockKind.SESSION)
    assert wanted
    assert sorted(one.session.behaviour for one in held) == sorted(one.behaviour for one in wanted)


def test_risk_that_the_trainer_takes_sets_how_often_the_pup_goes_out(actor: Actor, programme: UUID) -> None:
    from pupilage.storage.models import Programme

    def n_outings(risk: float) -> int:
        Programme.objects.filter(id=programme).update(outing_risk=risk)
        return len(of_kind(made(actor, programme), BlockKind.OUTING))

    assert n_outings(0.02) > n_outings(0.2)


def test_what_the_pup_is_to_meet_has_a_time_of_its_own_today_only(actor: Actor, programme: UUID) -> None:
    met = of_kind(made(actor, programme), BlockKind.EXPOSURE)
    assert met
    assert all("with food" in block.words for block in met)
    assert not of_kind(made(actor, programme, DAY + timedelta(days=1)), BlockKind.EXPOSURE)


def test_meal_that_comes_later_is_placed_again(actor: Actor, programme: UUID) -> None:
    meal = of_kind(made(actor, programme), BlockKind.MEAL)[0]
    now = meal.start + timedelta(minutes=5)
    stored = make_day_plan(actor, programme, DAY, now=now, seconds=FIRST_S, late=(meal.key,))
    moved = next(block for block in stored.plan.blocks if block.key == meal.key)
    assert (moved.kind, moved.state) == (BlockKind.MEAL, BlockState.PLANNED)
    assert moved.start >= now
    assert len(of_kind(stored, BlockKind.MEAL)) == 4


def test_session_that_was_neither_held_nor_ticked_is_placed_again(actor: Actor, programme: UUID) -> None:
    before = made(actor, programme)
    first = of_kind(before, BlockKind.SESSION)[0]
    now = first.end + timedelta(hours=1)
    after = made(actor, programme, now=now)
    assert len(of_kind(after, BlockKind.SESSION)) == 4
    assert min(block.start for block in of_kind(after, BlockKind.SESSION)) >= now


def test_pup_that_woke_early_goes_out_now(actor: Actor, programme: UUID, dog: UUID) -> None:
    nap = of_kind(made(actor, programme), BlockKind.NAP)[1]
    now = nap.start + timedelta(minutes=40)
    log_care(actor, dog, CareEntry(CareKind.NAP, now, CareDetail.END), now=now)
    follow_events(actor, dog, now=now)
    after = find_day_plan(actor, programme, DAY)
    ended = next(block for block in after.plan.blocks if block.key == nap.key)
    assert (ended.state, ended.end) == (BlockState.DONE, now)
    outing = min((b for b in of_kind(after, BlockKind.OUTING) if b.start >= now), key=lambda b: b.start)
    assert outing.start <= now + timedelta(minutes=5)


def test_what_is_done_early_ends_by_now(actor: Actor, programme: UUID) -> None:
    play = of_kind(made(actor, programme), BlockKind.PLAY)[0]
    now = play.start - timedelta(minutes=10)
    mark_block(actor, programme, DAY, Mark(play.key, BlockState.DONE), now=now)
    stored = find_day_plan(actor, programme, DAY)
    done = next(block for block in stored.plan.blocks if block.key == play.key)
    assert (done.end, done.end - done.start) == (now, play.end - play.start)


def test_timetable_asked_for_in_mid_day_begins_there(actor: Actor, programme: UUID, now: datetime) -> None:
    stored = made(actor, programme, now=now)
    shown = [one.block for one in stored.shown]
    assert min(block.end for block in shown) > now
    assert {block.state for block in shown} == {BlockState.PLANNED}


def test_meals_before_a_first_timetable_are_not_given_again(
    actor: Actor, programme: UUID, dog: UUID, now: datetime
) -> None:
    late = now + timedelta(hours=5)
    first = made(actor, programme, now=late)
    meals = [one.block.key for one in first.shown if one.block.kind is BlockKind.MEAL]
    assert 1 <= len(meals) <= 3
    log_care(actor, dog, CareEntry(CareKind.OUTING, late, CareDetail.WEE), now=late)
    follow_events(actor, dog, now=late)
    again = find_day_plan(actor, programme, DAY)
    assert [one.block.key for one in again.shown if one.block.kind is BlockKind.MEAL] == meals


def test_meal_of_the_log_is_not_planned_again_by_a_first_timetable(
    actor: Actor, programme: UUID, dog: UUID, now: datetime
) -> None:
    late = now + timedelta(hours=5)
    without = [b for b in of_kind(made(actor, programme, now=late), BlockKind.MEAL) if b.start >= late]
    PlanBlock.objects.all().delete()
    DayPlan.objects.all().delete()
    entry = CareEntry(CareKind.MEAL, late - timedelta(minutes=5), amount_g=52.0)
    log_care(actor, dog, entry, now=late)
    after = made(actor, programme, now=late)
    coming = [b for b in of_kind(after, BlockKind.MEAL) if b.start >= late]
    assert len(coming) <= len(without)
    assert [b.state for b in of_kind(after, BlockKind.MEAL)].count(BlockState.DONE) == 1
