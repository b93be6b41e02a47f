"""Which goal to drop or to soften first where the days do not suffice, and what that gives to the others."""

from collections.abc import Mapping, Sequence

from pupilage.core.planning.programme.plan import Change, Relief
from pupilage.core.planning.programme.prospects import Prospect, nearer, problem_of
from pupilage.core.planning.programme.room import DayRoom
from pupilage.core.planning.programme.tasks import PlanProblem, chances

WANTING = 0.05
"""A goal wants more days where all the sessions it could have would lift its chance by this much."""

MOST_LOOKED_AT = 2
LEAST_CHANGE = 0.01
"""Chance below which another goal's change is not named: within the forecast's own error."""


def find_reliefs(
    prospects: Sequence[Prospect], rooms: Sequence[DayRoom], held: Mapping[str, int], numbers: Mapping[str, int]
) -> tuple[Relief, ...]:
    """Return what could be dropped or softened, the first to take first; nothing where the days suffice.

    Model: the goals whose sessions bring least are taken out, or set a step nearer, one at a time, and the sessions
    shared anew (the model of the numbers, exact). The least net loss comes first: weight × chance lost or kept, less
    what the others gain; a goal set nearer counts for the share of its steps that is left.
    Parameters: numbers, of each goal's sessions in the plan.
    """
    problem = problem_of(prospects, rooms, held)
    before = _by_number(problem, numbers)
    if all(task.p_most - before[task.behaviour] < WANTING for task in problem.tasks):
        return ()
    found: list[tuple[float, Relief]] = []
    for one in _looked_at(prospects, before, numbers):
        key = one.behaviour.key
        if numbers[key] > held.get(key, 0) and not _is_needed(one, prospects):
            rest = [other for other in prospects if other is not one]
            found.append(_relief(one, None, rest, rooms, held, before, numbers))
        near = nearer(one, len(rooms))
        if near is not None:
            softened = [near if other is one else other for other in prospects]
            found.append(_relief(one, near, softened, rooms, held, before, numbers))
    helpful = [pair for pair in found if _helps(pair[1], before)]
    return tuple(relief for _, relief in sorted(helpful, key=lambda pair: pair[0]))


def _looked_at(
    prospects: Sequence[Prospect], before: Mapping[str, float], numbers: Mapping[str, int]
) -> list[Prospect]:
    """Return the goals whose sessions bring least, and the weightiest of those that have none but could."""
    taught = [one for one in prospects if numbers[one.behaviour.key] > 0]
    left_out = [one for one in prospects if not (numbers[one.behaviour.key] or one.missing)]
    weak = sorted(taught, key=lambda one: _worth(one, before, numbers))[:MOST_LOOKED_AT]
    return weak + sorted(left_out, key=lambda one: -one.weight * max(one.curve.p))[:1]


def _helps(relief: Relief, before: Mapping[str, float]) -> bool:
    """Return whether anybody gains: another goal, or the softened one itself."""
    itself = relief.step is not None and relief.p - before[relief.behaviour] >= WANTING
    return itself or any(change.p_after > change.p_before for change in relief.changes)


def _is_needed(one: Prospect, prospects: Sequence[Prospect]) -> bool:
    """Return whether another goal waits for this one."""
    return any(need.behaviour == one.behaviour.key for other in prospects for need in other.needs)


def _worth(one: Prospect, before: Mapping[str, float], numbers: Mapping[str, int]) -> float:
    """Return the weight × chance that a session of the plan brings to a goal; nothing for one without sessions."""
    key = one.behaviour.key
    return one.weight * (before[key] - one.curve.p[0]) / max(1, numbers[key])


def _by_number(problem: PlanProblem, numbers: Mapping[str, int]) -> dict[str, float]:
    return {t.behaviour: chances(t, numbers[t.behaviour])[-1] for t in problem.tasks}


def _relief(
    one: Prospect,
    near: Prospect | None,
    goals: Sequence[Prospect],
    rooms: Sequence[DayRoom],
    held: Mapping[str, int],
    before: Mapping[str, float],
    numbers: Mapping[str, int],
) -> tuple[float, Relief]:
    from pupilage.core.planning.programme.solver import share_numbers

    problem = problem_of(goals, rooms, held)
    shared = share_numbers(problem)
    after, key = _by_number(problem, shared), one.behaviour.key
    others = [goal for goal in goals if goal.behaviour.key != key]
    gained = sum(o.weight * (after[o.behaviour.key] - before[o.behaviour.key]) for o in others)
    kept = one.curve.p[0] if near is None else after[key]
    worth = kept if near is None else kept * near.target / one.target
    changes = [Change(o.behaviour.key, before[o.behaviour.key], after[o.behaviour.key]) for o in others]
    relief = Relief(
        behaviour=key,
        step=None if near is None else near.behaviour.steps[near.target].key,
        n_freed=numbers[key] - shared.get(key, 0),
        p=kept,
        changes=tuple(change for change in changes if abs(change.p_after - change.p_before) >= LEAST_CHANGE),
    )
    return one.weight * (before[key] - worth) - gained, relief
