"""The rest of a day planned again: what is finished stays, what happened moves the rest, keys stay."""

from dataclasses import replace
from datetime import timedelta

import pytest

from day_frames import appointment, at, day_frame
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.core.planning.day.checking import check_plan
from pupilage.core.planning.day.planning import plan_day
from pupilage.core.planning.day.replanning import Happening, HappeningKind, replan

FRAME = day_frame()
PLAN = plan_day(FRAME)
MINUTE = timedelta(minutes=1)


def of(plan, kind):
    return [block for block in plan.blocks if block.kind is kind]


def by_key(plan, key):
    return next(block for block in plan.blocks if block.key == key)


def nap(number=2):
    return of(PLAN, BlockKind.NAP)[number]


def test_nothing_happened_and_the_finished_part_stays():
    now = at(13)
    again = replan(FRAME, PLAN, now=now)
    assert [block for block in again.blocks if block.end <= now] == [block for block in PLAN.blocks if block.end <= now]
    assert {block.key for block in again.blocks} == {block.key for block in PLAN.blocks}
    assert check_plan(FRAME, again, since=now) == ()


def test_accident_counts_as_an_outing_and_moves_the_next_one():
    """Nothing else was due but an outing because of the time: the accident puts it off."""
    session = next(b for b in of(PLAN, BlockKind.SESSION) if by_next(b) is BlockKind.OUTING)
    now = session.end
    following = next(block for block in of(PLAN, BlockKind.OUTING) if block.start >= now)
    accident = Happening(HappeningKind.ACCIDENT, now)
    again = replan(FRAME, PLAN, now=now, happened=[accident])
    assert check_plan(FRAME, again, since=now + 5 * MINUTE, emptied=[now]) == ()
    assert by_key(again, following.key).start >= now


def test_an_empty_outing_is_tried_again_within_a_quarter_of_an_hour():
    """By the plan the next thing is play or a session; with nothing done outside, an outing comes before long."""
    outing = next(b for b in of(PLAN, BlockKind.OUTING) if by_next(b) in (BlockKind.PLAY, BlockKind.SESSION))
    now = outing.end + MINUTE
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.EMPTY, outing.end)])
    following = min(block.start for block in of(again, BlockKind.OUTING) if block.start >= now)
    assert following <= outing.end + 15 * MINUTE
    full = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.OUTING, outing.end)])
    assert following <= min(block.start for block in of(full, BlockKind.OUTING) if block.start >= now)


def by_next(block):
    later = [one for one in PLAN.blocks if one.start >= block.end]
    return min(later, key=lambda one: one.start).kind


def test_waking_early_ends_the_nap_and_brings_an_outing_at_once():
    now = nap().start + 40 * MINUTE
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.WOKE, now)])
    ended = by_key(again, nap().key)
    assert (ended.end, ended.state) == (now, BlockState.DONE)
    assert any(block.start == now for block in of(again, BlockKind.OUTING))


def test_nap_goes_on_while_nobody_says_otherwise():
    now = nap().start + 20 * MINUTE
    again = replan(FRAME, PLAN, now=now)
    assert by_key(again, nap().key).start == nap().start
    assert by_key(again, nap().key).end > now


def test_pup_that_falls_asleep_early_naps_now_and_what_it_misses_comes_later():
    meal = of(PLAN, BlockKind.MEAL)[1]
    now = meal.start - 5 * MINUTE
    coming = next(block for block in of(PLAN, BlockKind.NAP) if block.start > now)
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.ASLEEP, now)])
    assert by_key(again, coming.key).start == now
    assert by_key(again, coming.key).end >= now + 30 * MINUTE
    assert by_key(again, meal.key).start >= by_key(again, coming.key).end
    assert check_plan(FRAME, again, since=now + 5 * MINUTE) == ()


def test_waking_before_the_day_begins_brings_an_outing_at_once():
    now = at(5, 40)
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.WOKE, now)])
    assert of(again, BlockKind.OUTING)[0].start == now
    assert len(of(again, BlockKind.MEAL)) == 4


def test_skipped_session_stays_and_is_placed_again_under_a_new_key():
    first = of(PLAN, BlockKind.SESSION)[0]
    again = replan(FRAME, PLAN, now=first.end, happened=[Happening(HappeningKind.SKIPPED, first.end, first.key)])
    assert by_key(again, first.key) == replace(first, state=BlockState.SKIPPED)
    held = [block for block in of(again, BlockKind.SESSION) if block.state is BlockState.PLANNED]
    assert len(held) == 6
    assert sorted(block.session.behaviour for block in held) == sorted(s.behaviour for s in FRAME.sessions)
    assert "session-7" in {block.key for block in held}


def test_skipped_session_late_in_the_day_is_left_out_with_a_reason():
    last = of(PLAN, BlockKind.SESSION)[-1]
    now = at(22, 28)
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.SKIPPED, now, last.key)])
    left_out = next(one for one in again.broken if one.rule == "session-left-out")
    assert left_out.amount == 1
    assert "1 of 6 sessions" in str(left_out.reason)


def test_late_meal_comes_later_under_its_key_with_its_food():
    second = of(PLAN, BlockKind.MEAL)[1]
    now = second.start + 20 * MINUTE
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.LATE, now, second.key)])
    moved = by_key(again, second.key)
    assert moved.start >= now
    assert (moved.bowl_g, moved.pouch_g) == (second.bowl_g, second.pouch_g)
    assert len(of(again, BlockKind.MEAL)) == 4


def test_meal_too_late_for_the_day_is_said_and_the_plan_stays_whole():
    last = of(PLAN, BlockKind.MEAL)[-1]
    now = at(22, 30)
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.LATE, now, last.key)])
    assert "add their food to the others" in str(
        [str(one.reason) for one in again.broken if one.rule == "meal-left-out"]
    )


def test_block_done_early_ends_now_and_does_not_come_again():
    meal = of(PLAN, BlockKind.MEAL)[0]
    now = meal.start - 5 * MINUTE
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.DONE, now, meal.key)])
    assert by_key(again, meal.key).state is BlockState.DONE
    assert by_key(again, meal.key).end == now
    assert len(of(again, BlockKind.MEAL)) == 4


def test_block_that_runs_is_finished_first():
    play = of(PLAN, BlockKind.PLAY)[0]
    now = play.start + 4 * MINUTE
    again = replan(FRAME, PLAN, now=now)
    assert by_key(again, play.key) == play
    assert any(play.end <= block.start <= play.end + 5 * MINUTE for block in of(again, BlockKind.OUTING))


def test_said_twice_is_said_once():
    first = of(PLAN, BlockKind.SESSION)[0]
    now = first.end
    happened = [Happening(HappeningKind.SKIPPED, now, first.key)]
    once = replan(FRAME, PLAN, now=now, happened=happened)
    twice = replan(FRAME, once, now=now, happened=happened * 2)
    assert [(b.key, b.start, b.state) for b in twice.blocks] == [(b.key, b.start, b.state) for b in once.blocks]


def test_after_the_last_outing_only_the_night_is_left():
    now = at(23, 30)
    again = replan(FRAME, PLAN, now=now)
    assert again.blocks == PLAN.blocks


def test_late_last_outing_is_now_and_the_night_follows_it():
    now = at(22, 50)
    last = next(block for block in PLAN.blocks if block.start == at(22, 30))
    again = replan(FRAME, PLAN, now=now, happened=[Happening(HappeningKind.LATE, now, last.key)])
    assert by_key(again, last.key).start == now
    assert of(again, BlockKind.NIGHT)[0].start == now + 5 * MINUTE


def test_pup_awake_when_the_trainer_must_leave_is_seen_to_by_somebody():
    """It woke as an appointment began: the plan names what is needed instead of failing."""
    frame = day_frame(appointments=(appointment(at(10), 60),))
    plan = plan_day(frame)
    again = replan(frame, plan, now=at(10), happened=[Happening(HappeningKind.WOKE, at(10))])
    first = next(block for block in of(again, BlockKind.OUTING) if block.start >= at(10))
    assert first.start == at(10)
    assert "somebody else takes the pup out" in str(first.reason)


def test_key_of_a_block_that_is_no_more_changes_nothing():
    late = Happening(HappeningKind.LATE, at(9), "play-9")
    assert replan(FRAME, PLAN, now=at(9), happened=[late]).blocks == replan(FRAME, PLAN, now=at(9)).blocks


def test_naive_time_is_refused():
    with pytest.raises(InvalidInput, match="time zone"):
        replan(FRAME, PLAN, now=at(9).replace(tzinfo=None))


def test_meals_and_sessions_move_as_little_as_the_rules_allow():
    """Re-planning in the middle of a nap from which nothing moved keeps every meal and session where it was."""
    now = nap().start + 10 * MINUTE
    again = replan(FRAME, PLAN, now=now)
    kinds = (BlockKind.MEAL, BlockKind.SESSION)
    assert [b.start for b in again.blocks if b.kind in kinds] == [b.start for b in PLAN.blocks if b.kind in kinds]
