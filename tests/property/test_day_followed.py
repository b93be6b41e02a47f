"""Whole days followed: planned again many times, with all that has happened so far told each time."""

import random
from collections import Counter
from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from day_frames import frames
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.core.planning.day.checking import check_plan
from pupilage.core.planning.day.planning import first_plan
from pupilage.core.planning.day.replanning import Happening, HappeningKind, replan

MINUTE = timedelta(minutes=1)
TICKED = (BlockKind.OUTING, BlockKind.MEAL, BlockKind.SESSION, BlockKind.PLAY, BlockKind.CHEW, BlockKind.EXPOSURE)
EMPTIED = (HappeningKind.ACCIDENT, HappeningKind.OUTING)


@settings(max_examples=12, suppress_health_check=(HealthCheck.too_slow, HealthCheck.data_too_large))
@given(frames(), st.integers(0, 10**6))
def test_day_planned_again_and_again_breaks_no_hard_rule_and_keeps_its_keys_apart(frame, seed):
    chance, told, now = random.Random(seed), [], frame.wake_at
    try:
        plan = first_plan(frame)
    except InvalidInput:
        return
    while now < frame.last_outing_at:
        now += chance.randint(1, 150) * MINUTE
        told += ticked(plan, now, chance) + logged(now, chance)
        try:
            plan = replan(frame, plan, now=now, happened=told, seconds=0)
        except InvalidInput as clash:  # the last good plan stays
            assert all(str(problem) for problem in clash.problems)  # noqa: PT017
            continue
        assert max(Counter(block.key for block in plan.blocks).values()) == 1
        emptied = [one.at for one in told if one.kind in EMPTIED]
        assert check_plan(frame, plan, since=now + 5 * MINUTE, emptied=emptied) == ()


def ticked(plan, now, chance):
    """What the trainer ticked since: six in ten of the blocks that have begun."""
    found = []
    for block in plan.blocks:
        open_block = block.state is BlockState.PLANNED and block.kind in TICKED and not block.key.startswith("night")
        if open_block and block.start < now:
            draw = chance.random()
            if draw < 0.5:
                at = min(now, block.end + chance.randint(-4, 9) * MINUTE)
                found.append(Happening(HappeningKind.DONE, at, block.key))
            elif draw < 0.6 and block.kind is not BlockKind.OUTING:
                found.append(Happening(HappeningKind.SKIPPED, now, block.key))
    return found


def logged(now, chance):
    """What was written into the care log since."""
    draw = chance.random()
    if draw < 0.2:
        return [Happening(HappeningKind.ACCIDENT, now - 2 * MINUTE)]
    if draw < 0.4:
        return [Happening(HappeningKind.WOKE, now - 3 * MINUTE)]
    if draw < 0.5:
        return [Happening(HappeningKind.OUTING, now - chance.randint(0, 20) * MINUTE)]
    return []
