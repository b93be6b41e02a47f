"""The plan's solver: against every assignment there is, and against the integer programme of the worked knapsack."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.special import expit

from planned_problems import problems
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.programme.solver import share_numbers, solve_plan
from pupilage.core.planning.programme.tasks import Need, PlanProblem, Task, Upkeep
from pupilage.core.planning.sharing import Curve


def best_of_all(problem: PlanProblem) -> float:
    """Return the best value over every assignment of sessions to days: the rules and the losses, spelt out."""
    days = range(problem.n_days)
    rows = []
    for task in problem.tasks:
        open_on = [day >= task.first_day and problem.room[day] > 0 for day in days]
        own = [
            row
            for row in product(range(3), repeat=problem.n_days)
            if all(o or not n for o, n in zip(open_on, row, strict=True))
        ]
        rows.append([row for row in own if max(row) < 2 or sum(row) > 0.75 * sum(open_on)])
    return max(
        _value(problem, dict(zip((t.behaviour for t in problem.tasks), plan, strict=True))) for plan in product(*rows)
    )


def _value(problem: PlanProblem, plan: dict[str, tuple[int, ...]]) -> float:
    for day, room in enumerate(problem.room):
        on_day = [row[day] for row in plan.values()]
        if sum(on_day) > room or (max(on_day) == 2 and sum(on_day) < 3 and len(on_day) > 1):
            return -np.inf
    value = 0.0
    for task in problem.tasks:
        row = plan[task.behaviour]
        begins = next((day for day, n in enumerate(row) if n), None)
        for need in task.needs:
            if begins is not None and sum(plan[need.behaviour][:begins]) < need.n_sessions:
                return -np.inf
        value += task.weight * np.interp(sum(row), task.curve.sessions, task.curve.p) - 0.002 * sum(row)
        value -= 0.03 * task.weight * _missed(problem, task, row)
        value -= _missing_elsewhere(problem, task, row)
    return value + _probes(problem, plan)


def _missed(problem: PlanProblem, task: Task, row: tuple[int, ...]) -> int:
    if task.upkeep is None:
        return 0
    missed, start, end = 0, 0, task.upkeep.due_in_days
    while end < problem.n_days:
        open_days = [day for day in range(max(start, task.first_day), end + 1) if problem.room[day]]
        missed += bool(open_days) and not any(row[day] for day in open_days)
        start, end = end + 1, end + task.upkeep.every_days
    return missed


def _missing_elsewhere(problem: PlanProblem, task: Task, row: tuple[int, ...]) -> float:
    before = [day for day in range(problem.n_days - 1) if problem.room[day]]
    last = before[len(before) - min(5, len(before) // 3) :] if len(before) >= 3 else []
    sure = any(np.interp(n, task.curve.sessions, task.curve.p) >= 0.6 for n in range(sum(row) + 1))
    return 0.01 * task.weight * max(0, 2 - sum(row[day] for day in last)) if sure and last else 0.0


def _probes(problem: PlanProblem, plan: dict[str, tuple[int, ...]]) -> float:
    """Return what the best probes lose: three fit a session's room, on the last open day or the one before."""
    days = [day for day in range(problem.n_days) if problem.room[day]][-2:][::-1]
    free = [problem.room[day] - sum(row[day] for row in plan.values()) for day in days]
    best = -np.inf
    options = [[None, *(day for day in days if day >= task.first_day)] for task in problem.tasks]
    for chosen in product(*options):
        if any(chosen.count(day) > 3 * room for day, room in zip(days, free, strict=True)):
            continue
        lost = 0.0
        for task, day, own in zip(problem.tasks, chosen, options, strict=True):
            if day is None:
                lost += 0.1 * task.weight if len(own) > 1 else 0.0
            elif day < problem.n_days - 1:
                lost += 0.005 * task.weight
        best = max(best, -lost)
    return best


def random_problem(seed: int) -> PlanProblem:
    """Three goals and four days: S-shaped curves, a prerequisite, upkeep, a day off."""
    rng = np.random.default_rng(seed)
    tasks = []
    for i in range(3):
        n = np.arange(9)
        p = rng.uniform(0.3, 0.95) * expit((n - rng.uniform(0, 5)) / rng.uniform(0.4, 1.5))
        needs = (Need("b0", 1),) if i == 2 and seed % 2 else ()
        upkeep = Upkeep(int(rng.integers(0, 2)), 2) if i == 1 and seed % 3 == 0 else None
        curve = Curve(tuple(range(9)), tuple(map(float, p)))
        tasks.append(Task(f"b{i}", int(rng.integers(1, 6)), curve, int(rng.integers(0, 2)) * (i == 1), needs, upkeep))
    return PlanProblem(tuple(tasks), tuple(int(n) for n in rng.integers(0, 5, 4)))


@pytest.mark.parametrize("seed", range(16))
def test_small_plan_is_the_best_of_all_assignments(seed: int) -> None:
    # Exhaustive search: every number from 0 to 2 of three goals on four days, up to half a million plans.
    problem = random_problem(seed)
    found = solve_plan(problem)
    assert found.status == "optimal"
    # The solver reckons in whole hundred-thousandths, rounded once for each goal and loss.
    assert found.value == pytest.approx(best_of_all(problem), abs=2e-4)


def test_numbers_of_the_worked_knapsack_are_those_of_the_integer_programme() -> None:
    # Eight behaviours, value 1000 / (1 + exp(-(k - need) / 1.5)), at most 20 sessions each, 40 in all:
    # `scipy.optimize.milp` (HiGHS) and dynamic programming give 0,0,0,9,10,7,7,7 sessions and 3959.0535475676. Here 40
    # sessions in 20 days and three more rooms on the last for eight probes; the price of 0.002 a session is nothing
    # beside weights of 1000.
    n = np.arange(21)
    need = (13, 11, 10, 7, 8, 5, 5, 5)
    tasks = [
        Task(str(i), 1000, Curve(tuple(n.tolist()), tuple(map(float, expit((n - k) / 1.5)))))
        for i, k in enumerate(need)
    ]
    problem = PlanProblem(tuple(tasks), (2,) * 19 + (5,))
    assert list(share_numbers(problem).values()) == [0, 0, 0, 9, 10, 7, 7, 7]
    found = solve_plan(problem)
    assert [sum(row) for row in found.sessions.values()] == [0, 0, 0, 9, 10, 7, 7, 7]
    assert found.value == pytest.approx(3959.0535475676 - 40 * 0.002 - _lost_elsewhere(found.sessions), abs=0.02)


def _lost_elsewhere(sessions: dict[str, tuple[int, ...]]) -> float:
    """Return the loss of goals with 0.6 or more (one session over its need) that lack two in the days 14 to 18."""
    return sum(10.0 * max(0, 2 - sum(row[14:19])) for row in sessions.values() if sum(row))


def test_same_problem_gives_the_same_plan() -> None:
    problem = random_problem(3)
    assert solve_plan(problem) == solve_plan(problem)


@settings(max_examples=150)
@given(problem=problems(most_goals=4, most_days=9))
def test_bound_is_never_below_the_value(problem: PlanProblem) -> None:
    found = solve_plan(problem)
    assert found.value <= found.bound + 1e-9
    assert (found.status == "optimal") == (found.gap == 0.0)


def test_sessions_are_spread_over_the_days() -> None:
    # Six sessions in twelve days, one goal: an even pace has one every other day, never two days with three between.
    curve = Curve((0, 6, 12), (0.0, 0.8, 0.8))
    found = solve_plan(PlanProblem((Task("sit", 3, curve),), (3,) * 12))
    days = [day for day, n in enumerate(found.sessions["sit"]) if n]
    assert len(days) == 6
    assert max(b - a for a, b in pairwise(days)) <= 3


def test_behaviour_at_its_goal_is_practised_once_in_every_interval() -> None:
    # Due today, then every third day: the intervals are day 0 and days 1 to 3; an even pace would begin later.
    task = Task("sit", 3, Curve((0, 12), (0.5, 0.5)), upkeep=Upkeep(0, 3))
    found = solve_plan(PlanProblem((task,), (2,) * 6))
    row = found.sessions["sit"]
    assert (row[0], sum(row[1:4]), sum(row)) == (1, 1, 2)


@pytest.mark.parametrize(
    "task",
    [
        Task("sit", 0, Curve((0, 1), (0.0, 0.5))),
        Task("sit", 3, Curve((0, 1), (0.0, 1.5))),
        Task("sit", 3, Curve((1, 2), (0.0, 0.5))),
        Task("sit", 3, Curve((0, 1), (0.0, 0.5)), needs=(Need("down", 1),)),
    ],
)
def test_what_is_no_problem_is_refused(task: Task) -> None:
    with pytest.raises(InvalidInput):
        solve_plan(PlanProblem((task,), (3, 3)))
