"""No timetable breaks a hard rule: random days, read by a checker that knows neither the shapes nor the solver."""

from collections import Counter
from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from day_frames import frames
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import BlockKind, BlockState, DayPlan
from pupilage.core.planning.day.checking import check_plan
from pupilage.core.planning.day.frame import DayFrame
from pupilage.core.planning.day.planning import first_plan, plan_day
from pupilage.core.planning.day.replanning import Happening, HappeningKind, replan
from pupilage.core.planning.day.weighing import cost_of

GRID = timedelta(minutes=5)
LOGGED = (BlockKind.OUTING, BlockKind.MEAL, BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE, BlockKind.CHEW)
slow = (HealthCheck.too_slow, HealthCheck.data_too_large)


def plan_or_clash(frame: DayFrame, *, best: bool = False) -> DayPlan | None:
    """Return a plan, or None where the day is refused with a sentence that names what clashes."""
    try:
        return plan_day(frame) if best else first_plan(frame)
    except InvalidInput as clash:
        assert_is_named(clash)
        return None


def assert_is_named(clash: InvalidInput) -> None:
    assert clash.problems
    assert {problem.where for problem in clash.problems} <= {"appointments", "limits", "meals"}


@settings(max_examples=1000, suppress_health_check=slow)
@given(frames())
def test_first_plan_of_a_random_day_breaks_no_hard_rule(frame):
    plan = plan_or_clash(frame)
    if plan is not None:
        assert check_plan(frame, plan) == ()


@settings(max_examples=12, suppress_health_check=slow)
@given(frames())
def test_best_plan_breaks_no_hard_rule_and_is_no_dearer_than_the_first(frame):
    plan = plan_or_clash(frame, best=True)
    if plan is not None:
        assert check_plan(frame, plan) == ()
        assert plan.solution.status in ("optimal", "within")
        assert cost_of(plan.broken) * (1 - plan.solution.gap) <= cost_of(first_plan(frame).broken) + 1e-6


@settings(max_examples=120, suppress_health_check=slow)
@given(frames(), st.integers(-20, 1000), st.data())
def test_rest_of_a_random_day_planned_again_breaks_no_hard_rule(frame, minute, data):
    plan = plan_or_clash(frame)
    if plan is None:
        return
    now = frame.wake_at + timedelta(minutes=minute)
    happened = data.draw(happenings(plan, now))
    try:
        again = replan(frame, plan, now=now, happened=happened, seconds=0)
    except InvalidInput as clash:
        assert_is_named(clash)
        return
    emptied = [one.at for one in happened if one.kind is HappeningKind.ACCIDENT]
    assert check_plan(frame, again, since=now + GRID, emptied=emptied) == ()
    assert_past_is_untouched(plan, again, now, happened)


def assert_past_is_untouched(plan, again, now, happened):
    told = {one.key for one in happened}
    kept = {block.key: block for block in again.blocks}
    woke = any(one.kind is not HappeningKind.SKIPPED for one in happened)
    for block in plan.blocks:
        may_end_sooner = woke and block.kind in (BlockKind.NAP, BlockKind.RESIDENT)
        if block.end <= now and block.key not in told and not may_end_sooner:
            assert kept[block.key] == block
    assert max(Counter(block.key for block in again.blocks).values()) == 1


@st.composite
def happenings(draw, plan, now):
    """What may have happened by now: blocks skipped or late, an accident, an early waking."""
    begun = [block for block in plan.blocks if block.start < now and block.kind in LOGGED]
    begun = [block for block in begun if not block.key.startswith("night") and block.state is BlockState.PLANNED]
    found = []
    if begun and draw(st.booleans()):
        found.append(Happening(HappeningKind.SKIPPED, now, draw(st.sampled_from(begun)).key))
    if begun and draw(st.booleans()):
        found.append(Happening(HappeningKind.LATE, now, draw(st.sampled_from(begun[-3:])).key))
    if draw(st.booleans()):
        found.append(Happening(HappeningKind.ACCIDENT, now - timedelta(minutes=draw(st.integers(0, 10)))))
    if draw(st.booleans()):
        found.append(Happening(HappeningKind.WOKE, now - timedelta(minutes=draw(st.integers(0, 4)))))
    return found
