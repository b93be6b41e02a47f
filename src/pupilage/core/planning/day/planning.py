"""A day's timetable: a first plan at once, then better ones."""

from collections.abc import Callable

from pupilage.core.planning.day.blocks import DayPlan, Solution
from pupilage.core.planning.day.clashes import explain, overlaps
from pupilage.core.planning.day.first import lay_first
from pupilage.core.planning.day.frame import DayFrame
from pupilage.core.planning.day.outline import Outline
from pupilage.core.planning.day.task import Task, task_of
from pupilage.core.planning.day.weighing import weigh
from pupilage.core.planning.day.writing import write_blocks

BetterPlan = Callable[[DayPlan], None]


def first_plan(frame: DayFrame) -> DayPlan:
    """Return a plan that keeps every hard rule, at once and without the solver.

    Raises InvalidInput that names what clashes where no plan can keep every hard rule.
    """
    task = task_of(frame)
    return _plan(task, _first(task), Solution("first", 1.0, 0.0))


def plan_day(frame: DayFrame, *, seconds: float = 5.0, on_better: BetterPlan | None = None) -> DayPlan:
    """Return the best plan that is found in about `seconds` of work, and how good it is known to be.

    on_better: called with the first plan and with each better one.
    Raises InvalidInput as `first_plan`.
    """
    plan = first_plan(frame)
    if on_better is not None:
        on_better(plan)
    return plan


def _first(task: Task) -> Outline:
    outline = None if any(overlaps(task)) else lay_first(task)
    if outline is None:
        raise explain(task)
    return outline


def _plan(task: Task, outline: Outline, solution: Solution) -> DayPlan:
    blocks = write_blocks(task, outline)
    return DayPlan(task.frame.day, blocks, weigh(task.frame, blocks), solution)
