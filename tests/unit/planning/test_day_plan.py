"""A day's timetable: what stands in it, what it says of itself, and how the clocks change in it."""

import subprocess
import sys
from datetime import date, timedelta

import pytest

from day_frames import CLOCKS_BACK, CLOCKS_FORWARD, LISBON, appointment, at, day_frame, session
from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.checking import check_plan
from pupilage.core.planning.day.frame import DayMeal
from pupilage.core.planning.day.planning import first_plan, plan_day
from pupilage.core.planning.day.weighing import cost_of
from pupilage.core.planning.planned_session import Purpose


@pytest.fixture(scope="module")
def usual():
    return plan_day(day_frame())


def of(plan, *kinds):
    return [block for block in plan.blocks if block.kind in kinds]


def amounts(plan):
    return {one.rule: one.amount for one in plan.broken}


def test_usual_day_is_planned_to_a_proven_optimum(usual):
    assert (usual.solution.status, usual.solution.gap) == ("optimal", 0.0)
    assert check_plan(day_frame(), usual) == ()


def test_usual_day_holds_everything(usual):
    counts = {kind: len(of(usual, kind)) for kind in BlockKind}
    assert counts[BlockKind.SESSION] == 6
    assert counts[BlockKind.MEAL] == 4
    assert counts[BlockKind.PLAY] == 4
    assert counts[BlockKind.EXPOSURE] == counts[BlockKind.RESIDENT] == 1


def test_blocks_are_in_time_order_with_keys_of_their_own_and_a_reason(usual):
    assert list(usual.blocks) == sorted(usual.blocks, key=lambda block: (block.start, block.end))
    assert len({block.key for block in usual.blocks}) == len(usual.blocks)
    assert all(block.reason is not None and str(block.reason) for block in usual.blocks)


def test_keys_count_the_things_of_a_kind(usual):
    assert [block.key for block in of(usual, BlockKind.MEAL)] == ["meal-1", "meal-2", "meal-3", "meal-4"]


def test_same_day_gives_the_same_plan_twice(usual):
    again = plan_day(day_frame())
    assert (again.blocks, again.broken) == (usual.blocks, usual.broken)


def test_better_plan_is_handed_on_after_the_first():
    seen = []
    best = plan_day(day_frame(), on_better=seen.append)
    assert [plan.solution.status for plan in seen] == ["first", "optimal"]
    assert cost_of(best.broken) <= cost_of(seen[0].broken)


def test_no_seconds_give_the_first_plan():
    assert plan_day(day_frame(), seconds=0).solution.status == "first"


def test_first_plan_needs_neither_the_solver_nor_numpy():
    code = (
        "import sys; sys.path.insert(0, 'tests'); import day_frames;"
        "from pupilage.core.planning.day.planning import first_plan; first_plan(day_frames.day_frame());"
        "assert 'pupilage.core.planning.day.solving' not in sys.modules and 'ortools' not in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0


def test_meals_carry_their_grams_in_order():
    meals = tuple(DayMeal(10.0 * n, 5.0) for n in (1, 2, 3))
    blocks = of(plan_day(day_frame(meals=meals)), BlockKind.MEAL)
    assert [(block.bowl_g, block.pouch_g) for block in blocks] == [(10.0, 5.0), (20.0, 5.0), (30.0, 5.0)]


def test_resident_dog_has_its_time_inside_a_nap(usual):
    (resident,) = of(usual, BlockKind.RESIDENT)
    assert resident.end - resident.start == timedelta(minutes=40)
    assert any(nap.start <= resident.start and resident.end <= nap.end for nap in of(usual, BlockKind.NAP))


def test_house_without_another_dog_has_no_time_for_one():
    plan = plan_day(day_frame(resident_min=None))
    assert not of(plan, BlockKind.RESIDENT)
    assert "resident-time" not in amounts(plan)


def test_play_keeps_out_of_the_quiet_hours(usual):
    assert not [block for block in of(usual, BlockKind.PLAY) if at(13) <= block.start < at(15)]


def test_day_without_sessions_is_a_day_of_care():
    plan = plan_day(day_frame(sessions=(), exposures=(), play_min=0))
    assert not of(plan, BlockKind.SESSION, BlockKind.EXPOSURE, BlockKind.PLAY)
    assert check_plan(day_frame(sessions=(), exposures=(), play_min=0), plan) == ()


def test_sessions_that_do_not_fit_are_left_out_and_the_plan_says_so():
    frame = day_frame(sessions=tuple(session("sit") for _ in range(20)))
    plan = first_plan(frame)
    assert 0 < len(of(plan, BlockKind.SESSION)) < 20
    assert amounts(plan)["session-left-out"] == 20 - len(of(plan, BlockKind.SESSION))
    assert "found no room" in str(next(one.reason for one in plan.broken if one.rule == "session-left-out"))


def test_probe_comes_before_its_behaviour_is_trained():
    frame = day_frame(sessions=(session("sit"), session("down"), session("sit", purpose=Purpose.PROBE)))
    first = next(block for block in of(plan_day(frame), BlockKind.SESSION) if block.session.behaviour == "sit")
    assert first.session.purpose is Purpose.PROBE


def test_one_behaviour_alone_is_trained_with_a_nap_between():
    frame = day_frame(sessions=(session("sit"),) * 3)
    plan = plan_day(frame)
    assert len(of(plan, BlockKind.SESSION)) == 3
    assert check_plan(frame, plan) == ()


def test_big_meal_keeps_lively_things_away_and_a_small_one_does_not():
    big = day_frame(meals=(DayMeal(60.0),) * 3)
    assert check_plan(big, plan_day(big)) == ()
    for meal in of(plan_day(big), BlockKind.MEAL):
        lively = of(plan_day(big), BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE)
        assert not [one for one in lively if meal.end <= one.start < meal.end + timedelta(minutes=30)]


def test_pup_rests_in_an_appointment():
    plan = plan_day(day_frame(appointments=(appointment(at(9), 75),)))
    (busy,) = of(plan, BlockKind.APPOINTMENT)
    assert (busy.start, busy.end, busy.words) == (at(9), at(10, 15), "dentist")
    assert any(nap.start <= busy.start and busy.end <= nap.end for nap in of(plan, BlockKind.NAP))


def test_pup_that_comes_along_goes_out_before_and_after():
    frame = day_frame(appointments=(appointment(at(9), 25, "vet", comes_along=True),))
    plan = plan_day(frame)
    starts = [block.start for block in of(plan, BlockKind.OUTING)]
    assert at(9, 25) in starts
    assert any(at(8, 40) <= start <= at(8, 55) for start in starts)
    assert check_plan(frame, plan) == ()


def test_long_appointment_with_somebody_there_has_that_person_take_the_pup_out():
    frame = day_frame(appointments=(appointment(at(9), 300, "court", covered=True),))
    plan = plan_day(frame)
    inside = [block for block in of(plan, BlockKind.OUTING) if at(9) <= block.start < at(14)]
    assert inside
    assert all("somebody else takes the pup out" in str(block.reason) for block in inside)
    assert not [block for block in of(plan, BlockKind.SESSION, BlockKind.MEAL) if at(9) <= block.start < at(14)]
    assert check_plan(frame, plan) == ()


@pytest.mark.parametrize(
    ("day", "hours"), [(CLOCKS_FORWARD - timedelta(days=1), 7), (CLOCKS_BACK - timedelta(days=1), 9)]
)
def test_night_in_which_the_clocks_change_is_as_long_as_it_really_is(day, hours):
    frame = day_frame(day=day)
    plan = first_plan(frame)
    night = of(plan, BlockKind.NIGHT)
    assert night[-1].end - at(22, 30, day) == timedelta(hours=hours)
    assert night[-1].end.astimezone(LISBON).hour == 6
    assert check_plan(frame, plan) == ()


@pytest.mark.parametrize("day", [CLOCKS_FORWARD, CLOCKS_BACK, date(2026, 12, 31)])
def test_day_begins_and_ends_at_its_local_times(day):
    plan = first_plan(day_frame(day=day))
    out = of(plan, BlockKind.OUTING)
    assert out[0].start == at(6, 30, day)
    assert at(22, 30, day) in [block.start for block in out]


def test_night_has_as_few_outings_as_the_limit_allows(usual):
    night = [block for block in usual.blocks if block.key.startswith("night-outing")]
    assert [block.start for block in night] == [at(22, 30) + timedelta(hours=4)]


def test_heavier_rule_is_broken_less():
    heavy = plan_day(day_frame(weights={"meal-times": 100.0}))
    assert amounts(heavy).get("meal-times", 0.0) <= amounts(plan_day(day_frame())).get("meal-times", 0.0)


def test_broken_rules_say_weight_amount_and_reason(usual):
    outings = next(one for one in usual.broken if one.rule == "fewer-outings")
    assert outings.weight == 4.0
    assert outings.unit == ""
    assert f"{len([b for b in of(usual, BlockKind.OUTING) if b.start <= at(22, 30)])} outings" in str(outings.reason)
