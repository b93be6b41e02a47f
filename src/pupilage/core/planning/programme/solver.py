"""Solving the plan: first how many sessions for whom, then on which days; the first gives the bound for the second."""

import time
from dataclasses import dataclass

from ortools.sat.python import cp_model

from pupilage.core.planning.programme.model import UNIT, PlanModel, counts_model, days_model, even_model
from pupilage.core.planning.programme.placement import Placement
from pupilage.core.planning.programme.tasks import PlanProblem, require_problem

SEED = 1

FIRST_EFFORT = 1.5
EFFORT = 0.4
"""Deterministic time for the model of the numbers and for each other one, in the solver's own unit: the same answer on
a slow machine."""

GAP_TO_LEAVE = 0.01
SMALL = 170
"""A plan proven this near to the best is not looked into further; one of so few goals times days is, to the end."""

FEWER, MORE = 6, 4
"""How far from the numbers of the first model the third looks."""


@dataclass(frozen=True)
class _Run:
    """A model after the search; value and bound in UNIT."""

    made: PlanModel
    solver: cp_model.CpSolver
    is_found: bool

    @property
    def value(self) -> float:
        return float(self.solver.value(sum(self.made.worth))) if self.is_found else -float("inf")

    @property
    def bound(self) -> float:
        return self.solver.best_objective_bound if self.is_found else float("inf")

    @property
    def numbers(self) -> dict[str, int]:
        tasks = self.made.problem.tasks
        return {task.behaviour: self.solver.value(self.made.number(i)) for i, task in enumerate(tasks)}


def solve_plan(problem: PlanProblem) -> Placement:
    """Return the best placement of the tasks' sessions on the days.

    Model: maximise the sum of weight × chance by number of sessions, less a small price a session and the losses of
    `rules`, over whole numbers of sessions by behaviour and day (docs/science/plan.md). Deterministic: one worker, a
    fixed seed, a limit in deterministic time.
    Raises: InvalidInput as `require_problem`.
    Checked against exhaustive search in tests/external/test_programme_plan.py and by an independent rule checker
    in tests/property/test_programme_plans.py.
    """
    require_problem(problem)
    started = time.perf_counter()
    counted = _search(counts_model(problem), effort=FIRST_EFFORT)
    bound, numbers = counted.bound, counted.numbers
    best, n_models = _search(days_model(problem, {key: [n] for key, n in numbers.items()})), 2
    leave = GAP_TO_LEAVE if len(problem.tasks) * problem.n_days > SMALL else 0.0
    if _gap(best.value, bound) > leave:
        near = {key: range(max(0, n - FEWER), n + MORE + 1) for key, n in numbers.items()}
        found = _search(days_model(problem, near), best)
        best, n_models = max(best, found, key=lambda run: run.value), 3
    if _gap(best.value, bound) > leave:
        found = _search(days_model(problem), best)
        best, bound, n_models = max(best, found, key=lambda run: run.value), min(bound, found.bound), 4
    if not best.is_found:  # the effort ran out before any plan came up: what has been held, and no more
        best = _search(days_model(problem, {task.behaviour: [task.held] for task in problem.tasks}))
    even = _search(even_model(problem, best.numbers, round(best.value)), best)
    return _placement(even if even.is_found else best, bound, n_models, time.perf_counter() - started)


def share_numbers(problem: PlanProblem) -> dict[str, int]:
    """Return how many sessions each task should have, the days unseen: `solve_plan`'s first model alone, and quick.

    Raises: InvalidInput as `require_problem`.
    """
    require_problem(problem)
    return _search(counts_model(problem), effort=FIRST_EFFORT).numbers


def _search(made: PlanModel, begin: _Run | None = None, *, effort: float = EFFORT) -> _Run:
    """Search for the best plan, beginning from another one.

    One worker: two that take turns, which a repeatable search asks for, were ten times slower here. Level 2 brings the
    whole of each goal's choice into the relaxed model, without which the bound stays far off.
    """
    if begin is not None and begin.is_found:
        _hint(made, begin)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(made.model)
    return _Run(made, solver, status in (cp_model.OPTIMAL, cp_model.FEASIBLE))


def _hint(made: PlanModel, begin: _Run) -> None:
    numbers = begin.numbers
    for i, task in enumerate(made.problem.tasks):
        for n, chosen in made.counts[i].items():
            made.model.add_hint(chosen, n == numbers[task.behaviour])
        for day, probe in made.probes[i].items():
            made.model.add_hint(probe, begin.solver.value(begin.made.probes[i][day]))
        for day, n_sessions in enumerate(made.sessions[i]):
            made.model.add_hint(n_sessions, begin.solver.value(begin.made.sessions[i][day]))


def _gap(value: float, bound: float) -> float:
    return max(0.0, bound - value) / max(1.0, abs(value)) if value > -float("inf") else float("inf")


def _placement(run: _Run, bound: float, n_models: int, seconds: float) -> Placement:
    gap, tasks = _gap(run.value, bound), run.made.problem.tasks
    return Placement(
        sessions={t.behaviour: _row(run, i) for i, t in enumerate(tasks)},
        probes={t.behaviour: _probe_day(run, i) for i, t in enumerate(tasks)},
        status="optimal" if gap == 0.0 else "within",
        value=run.value / UNIT,
        bound=bound / UNIT,
        gap=gap,
        n_models=n_models,
        seconds=seconds,
    )


def _row(run: _Run, i: int) -> tuple[int, ...]:
    return tuple(run.solver.value(n) for n in run.made.sessions[i])


def _probe_day(run: _Run, i: int) -> int | None:
    return next((day for day, probe in run.made.probes[i].items() if run.solver.value(probe)), None)
