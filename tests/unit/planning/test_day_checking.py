"""The checker sees every hard rule broken: a good plan is spoilt in one way at a time."""

from dataclasses import replace
from datetime import timedelta

import pytest

from day_frames import appointment, at, day_frame, session
from pupilage.core.planning.day.blocks import Block, BlockKind
from pupilage.core.planning.day.checking import check_plan
from pupilage.core.planning.day.frame import DayMeal
from pupilage.core.planning.day.planning import first_plan
from pupilage.core.planning.day.rules import HARD_RULES, HardRule

FRAME = day_frame(meals=(DayMeal(60.0),) * 4, appointments=(appointment(at(9), 60),))
PLAN = first_plan(FRAME)
MINUTE = timedelta(minutes=1)


def kinds(kind):
    return [block for block in PLAN.blocks if block.kind is kind]


def broken(blocks):
    return {breach.rule for breach in check_plan(FRAME, replace(PLAN, blocks=tuple(blocks)))}


def without(*gone):
    return [block for block in PLAN.blocks if block not in gone]


def with_block(kind, start, minutes, **more):
    return [*PLAN.blocks, Block("extra-1", kind, start, start + minutes * MINUTE, **more)]


def changed(block, **changes):
    return [replace(one, **changes) if one is block else one for one in PLAN.blocks]


def outing_at(moment):
    return next(block for block in kinds(BlockKind.OUTING) if block.start == moment)


def test_good_plan_breaks_nothing():
    assert check_plan(FRAME, PLAN) == ()


@pytest.mark.parametrize(
    ("kind", "rule"),
    [
        (BlockKind.NAP, HardRule.OUT_AFTER_NAP),
        (BlockKind.MEAL, HardRule.OUT_AFTER_MEAL),
        (BlockKind.PLAY, HardRule.OUT_AFTER_PLAY),
    ],
)
def test_missing_outing_after_a_trigger_is_seen(kind, rule):
    assert rule in broken(without(outing_at(kinds(kind)[0].end)))


def test_missing_first_outing_is_seen():
    assert HardRule.OUT_AFTER_NAP in broken(without(kinds(BlockKind.OUTING)[0]))


def test_missing_outing_before_the_crate_is_seen():
    nap = kinds(BlockKind.NAP)[0]
    crate = min([nap.start, *(chew.start for chew in kinds(BlockKind.CHEW) if chew.end == nap.start)])
    out = next(block for block in kinds(BlockKind.OUTING) if block.end == crate)
    assert HardRule.OUT_BEFORE_CRATE in broken(without(out))


def test_missing_outings_of_the_night_are_seen():
    night = [block for block in PLAN.blocks if block.key.startswith("night-outing")]
    assert HardRule.OUT_IN_TIME in broken(without(*night))


def test_outing_too_late_while_awake_is_seen():
    tight = replace(FRAME, limits=replace(FRAME.limits, awake_min=10))
    assert HardRule.OUT_IN_TIME in {breach.rule for breach in check_plan(tight, PLAN)}


def test_outing_too_late_after_a_nap_is_seen():
    tight = replace(FRAME, limits=replace(FRAME.limits, resting_min=50))
    assert HardRule.OUT_IN_TIME in {breach.rule for breach in check_plan(tight, PLAN)}


def test_awake_too_long_is_seen():
    assert HardRule.AWAKE_NO_LONGER in broken(without(kinds(BlockKind.NAP)[2]))


def test_short_nap_is_seen():
    nap = kinds(BlockKind.NAP)[1]
    assert HardRule.NAP_LONG_ENOUGH in broken(changed(nap, end=nap.start + 25 * MINUTE))


@pytest.mark.parametrize("kind", [BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE])
def test_lively_thing_after_a_big_meal_is_seen(kind):
    meal = kinds(BlockKind.MEAL)[0]
    assert HardRule.CALM_AFTER_BIG_MEAL in broken(with_block(kind, meal.end + 25 * MINUTE, 5))


def test_moved_or_missing_appointment_is_seen():
    (busy,) = kinds(BlockKind.APPOINTMENT)
    assert HardRule.APPOINTMENTS_FIXED in broken(without(busy))
    assert HardRule.APPOINTMENTS_FIXED in broken(changed(busy, start=busy.start + 15 * MINUTE))


def test_nap_while_the_pup_is_to_come_along_is_seen():
    along = replace(FRAME, appointments=(appointment(at(9), 60, comes_along=True),))
    assert HardRule.APPOINTMENTS_FIXED in {breach.rule for breach in check_plan(along, PLAN)}


def test_two_things_at_once_are_seen():
    play = kinds(BlockKind.PLAY)[0]
    assert HardRule.ONE_THING_AT_A_TIME in broken(with_block(BlockKind.MEAL, play.start, 10))


def test_play_with_a_pup_that_is_to_sleep_is_seen():
    nap = kinds(BlockKind.NAP)[0]
    assert HardRule.ONE_THING_AT_A_TIME in broken(with_block(BlockKind.PLAY, nap.start + 10 * MINUTE, 10))


def test_resident_dogs_time_while_the_pup_is_awake_is_seen():
    (resident,) = kinds(BlockKind.RESIDENT)
    out = kinds(BlockKind.OUTING)[3]
    assert HardRule.ONE_THING_AT_A_TIME in broken(changed(resident, start=out.end, end=out.end + 40 * MINUTE))


def test_sessions_back_to_back_are_seen():
    first = kinds(BlockKind.SESSION)[0]
    more = with_block(BlockKind.SESSION, first.end + 5 * MINUTE, 5, session=session("roll"))
    assert HardRule.REST_BETWEEN_SESSIONS in broken(more)


def test_same_behaviour_twice_in_a_row_is_seen_and_a_nap_between_excuses_it():
    first, second = kinds(BlockKind.SESSION)[:2]
    assert HardRule.NOT_TWICE_IN_A_ROW not in broken(changed(second, session=first.session))
    again = with_block(BlockKind.SESSION, first.end + 15 * MINUTE, 5, session=first.session)
    assert HardRule.NOT_TWICE_IN_A_ROW in broken(again)


def test_missing_meal_is_seen():
    assert HardRule.EVERY_MEAL in broken(without(kinds(BlockKind.MEAL)[1]))


def test_missing_last_outing_and_blocks_off_the_grid_or_outside_the_day_are_seen():
    assert HardRule.DAY_BOUNDS in broken(without(outing_at(FRAME.last_outing_at)))
    play = kinds(BlockKind.PLAY)[0]
    assert HardRule.DAY_BOUNDS in broken(changed(play, start=play.start + MINUTE))
    assert HardRule.DAY_BOUNDS in broken(with_block(BlockKind.PLAY, at(23), 10))
    assert HardRule.DAY_BOUNDS in broken(with_block(BlockKind.PLAY, at(5), 10))


def test_every_rule_has_its_sentence():
    assert set(HARD_RULES) == set(HardRule)


def test_appointment_before_waking_does_not_wake_the_pup():
    frame = day_frame(age_weeks=7.0, appointments=(appointment(at(6), 10),))
    assert check_plan(frame, first_plan(frame)) == ()
