"""Random plans, looked over by a checker that knows the rules and nothing of the model."""

from itertools import pairwise

from hypothesis import given, settings
from ortools.sat.python import cp_model

from planned_problems import broken_rules, problems
from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.layout import alternated
from pupilage.core.planning.programme.model import counts_model, days_model
from pupilage.core.planning.programme.solver import solve_plan
from pupilage.core.planning.programme.tasks import PlanProblem


@settings(max_examples=150)
@given(problem=problems())
def test_no_plan_breaks_a_rule(problem: PlanProblem) -> None:
    found = solve_plan(problem)
    assert broken_rules(problem, found) == []


def best_value(model: cp_model.CpModel) -> float:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value


@settings(max_examples=120)
@given(problem=problems(most_goals=4, most_days=8))
def test_optimum_of_the_numbers_is_never_below_that_of_the_days(problem: PlanProblem) -> None:
    # What the proof of every plan rests on: the model of the numbers leaves every plan in.
    assert best_value(days_model(problem).model) <= best_value(counts_model(problem).model) + 1e-6


@settings(max_examples=60)
@given(problem=problems(most_goals=3, most_days=5))
def test_probes_are_on_the_last_two_open_days_and_once_a_goal(problem: PlanProblem) -> None:
    found = solve_plan(problem)
    days = [day for day in range(problem.n_days) if problem.room[day]][-2:]
    assert all(day is None or day in days for day in found.probes.values())


@settings(max_examples=60)
@given(problem=problems(most_goals=4, most_days=4))
def test_no_behaviour_follows_itself_in_a_day_with_another(problem: PlanProblem) -> None:
    found = solve_plan(problem)
    for day in range(problem.n_days):
        groups = [[session(key)] * row[day] for key, row in found.sessions.items()]
        order = [one.behaviour for one in alternated(groups)]
        held = any(task.held for task in problem.tasks) and day == 0
        if len(problem.tasks) > 1 and not held:
            assert all(a != b for a, b in pairwise(order)), order


def session(key: str) -> PlannedSession:
    return PlannedSession(key, "step", Purpose.TEACH, 3, Place.HOME)
