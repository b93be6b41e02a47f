"""A day's timetable: a first plan at once, then the best one."""

import time
from collections.abc import Callable, Sequence

from pupilage.core.planning.day.blocks import Block, BlockKind, DayPlan, Solution
from pupilage.core.planning.day.clashes import explain, known, overlaps
from pupilage.core.planning.day.first import Room, lay_first
from pupilage.core.planning.day.frame import DayFrame
from pupilage.core.planning.day.outline import Outline
from pupilage.core.planning.day.rules import SoftRule
from pupilage.core.planning.day.task import Task, task_of
from pupilage.core.planning.day.weighing import cost_of, weigh
from pupilage.core.planning.day.writing import Keys, write_blocks

BetterPlan = Callable[[DayPlan], None]

WORK_PER_SECOND = 1.5e8
"""Entries of the solver's tables a second, about, on a slow laptop: time is counted so, not by the clock, and a plan
does not depend on how busy the machine is."""

MOST_WORK = 10 * WORK_PER_SECOND
"""The first way on may be overlooked where a day is tight; up to here the exact search looks before giving up."""

FIRST = Solution("first", 1.0, 0.0)


def first_plan(frame: DayFrame) -> DayPlan:
    """Return a plan that keeps every hard rule, at once and without the solver.

    Raises InvalidInput that names what clashes where no plan can keep every hard rule.
    """
    task = task_of(frame)
    return Written(task).plan(lay_out(task), FIRST)


def plan_day(frame: DayFrame, *, seconds: float = 5.0, on_better: BetterPlan | None = None) -> DayPlan:
    """Return the best plan of the day and how good it is known to be.

    seconds: of work, about; a day too large for it gets its first plan. on_better: called with the first plan before
    the best one is looked for, and with that.
    Raises InvalidInput as `first_plan`.
    """
    task = task_of(frame)
    return find_best(Written(task), seconds=seconds, on_better=on_better)


class Written:
    """Writes outlines of a task as plans: behind the blocks that are finished, and with their keys."""

    def __init__(self, task: Task, finished: Sequence[Block] = (), previous: Sequence[Block] = ()) -> None:
        self.task = task
        self.finished = tuple(finished)
        self.previous = tuple(previous)

    def plan(self, outline: Outline, solution: Solution) -> DayPlan:
        """Return the outline as a plan."""
        frame = self.task.frame
        ends = {block.key for block in self.finished}
        keys = Keys.after(self.finished, [block for block in self.previous if block.key not in ends])
        blocks = sorted([*self.finished, *write_blocks(self.task, outline, keys)], key=lambda one: (one.start, one.end))
        return DayPlan(frame.day, tuple(blocks), weigh(frame, blocks, self.previous), solution)


def lay_out(task: Task, room: Room | None = None) -> Outline:
    """Return the first outline. Raises InvalidInput with what clashes."""
    room = room or Room(task)
    outline = None
    if not any(overlaps(task)) and not any(one.comes_along for one in task.outside):
        outline = lay_first(task, room)
        if outline is None and not any(known(task)) and work_of(task) < MOST_WORK:
            outline = _exact(task, room)
    if outline is None:
        raise explain(task)
    return outline


def _exact(task: Task, room: Room) -> Outline | None:
    from pupilage.core.planning.day.solving import Outlook

    return Outlook(task, room).best()[1]


def find_best(
    written: Written, *, seconds: float, on_better: BetterPlan | None, first_outline: Outline | None = None
) -> DayPlan:
    """Return the best plan of a task, or the first one (which may be known) where the best would take too long."""
    task = written.task
    room = Room(task)
    first = written.plan(first_outline or lay_out(task, room), FIRST)
    if on_better is not None:
        on_better(first)
    if work_of(task) > seconds * WORK_PER_SECOND:
        return first
    began = time.perf_counter()
    outline = _exact(task, room)
    if outline is None:
        return first
    best = written.plan(outline, Solution("optimal", 0.0, time.perf_counter() - began))
    best = _with_gap(best, task, outline)
    if on_better is not None:
        on_better(best)
    return best


def work_of(task: Task) -> float:
    """Return about how many entries the solver's tables have, all shapes together."""
    entries = 1.0
    for n in task.n.values():
        entries *= n + 1
    return entries * task.end * len(task.shapes)


def _with_gap(plan: DayPlan, task: Task, outline: Outline) -> DayPlan:
    """State the gap: the resident dog's time and a behaviour twice in a row are seen to when the optimum is known."""
    frame = task.frame
    missing = sum(task.wanted.resident) - sum(length for _, length in outline.resident)
    laid = sum(stay.shape.count(BlockKind.SESSION) for stay in outline.stays)
    written = sum(block.kind is BlockKind.SESSION and block.start >= task.origin for block in plan.blocks)
    excess = frame.weight(SoftRule.RESIDENT_TIME) * missing + frame.weight(SoftRule.SESSION_LEFT_OUT) * (laid - written)
    if excess <= 0:
        return plan
    gap = min(1.0, excess / max(excess, cost_of(plan.broken)))
    return DayPlan(plan.day, plan.blocks, plan.broken, Solution("within", gap, plan.solution.seconds))
