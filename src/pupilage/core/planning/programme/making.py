"""Making the plan of a stay: from the record to the sessions on days, with its reasons."""

from datetime import datetime, timedelta

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import local_day, require_aware
from pupilage.core.planning.programme.clashes import Ground, find_clashes, require_a_plan
from pupilage.core.planning.programme.layout import lay_out
from pupilage.core.planning.programme.placement import Placement
from pupilage.core.planning.programme.plan import GoalPlan, ProgrammePlan, Proof
from pupilage.core.planning.programme.prospects import PlanInput, Prospect, foresee, problem_of
from pupilage.core.planning.programme.reliefs import find_reliefs
from pupilage.core.planning.programme.room import rooms_until
from pupilage.core.planning.programme.tasks import PlanProblem
from pupilage.core.planning.standing import Frame
from pupilage.core.training.outlook.chances import chance_with, look_ahead
from pupilage.core.training.outlook.course import Sessions
from pupilage.core.training.outlook.forecast import Forecast, forecast
from pupilage.core.training.posterior.knowledge import Knowledge


def make_plan(
    given: PlanInput, known: Knowledge, *, catalogue: Catalogue, now: datetime, reliefs: bool = True
) -> ProgrammePlan:
    """Return the plan from today to the day before the hand-over.

    Made on what was known this morning, so that a plan of a day stands for the day; sessions held today count in it.
    Deterministic: the same record and wishes give the same plan.
    Parameters: known, of the pup; given, the goals, the frame of the stay and what shapes its days; reliefs, whether
    to say also what gives way first, which takes as long again.
    Raises: NoPlan, with the rules that clash, where nothing can be planned; InvalidInput for figures that cannot be.
    """
    now = require_aware(now, "now")
    morning, held = known.morning(now), given.around.held_today
    rooms = rooms_until(given.frame, given.around, now=now)
    prospects = foresee(given, morning, catalogue, now=now)
    ground = Ground(prospects, rooms, catalogue)
    require_a_plan(ground)
    from pupilage.core.planning.programme.solver import solve_plan

    problem = problem_of(prospects, rooms, held)
    placement = solve_plan(problem)
    goals = [_goal(one, placement, problem, given.frame, morning, now) for one in prospects]
    numbers = {goal.behaviour: goal.n_sessions for goal in goals}
    return ProgrammePlan(
        made_on=local_day(now, given.frame.zone),
        handover_on=given.frame.handover_on,
        days=lay_out(prospects, rooms, problem, placement, [goal.p_with for goal in goals]),
        goals=tuple(goals),
        clashes=find_clashes(ground),
        reliefs=find_reliefs(prospects, rooms, held, numbers) if reliefs else (),
        proof=Proof(placement.status, placement.value, placement.bound, placement.gap, placement.n_models),
        held=dict(held),
    )


def _goal(
    one: Prospect, placement: Placement, problem: PlanProblem, frame: Frame, morning: Knowledge, now: datetime
) -> GoalPlan:
    per_day = placement.sessions[one.behaviour.key]
    target = one.behaviour.steps[one.target].key
    told = forecast(one.behaviour, target, morning, now=now, sessions=Sessions(per_day))
    p_with, p_without, p_one_more = _chances(one, told, Sessions(per_day))
    begins = next((day for day, n in enumerate(per_day) if n), None)
    return GoalPlan(
        behaviour=one.behaviour.key,
        target=target,
        weight=one.weight,
        n_sessions=sum(per_day),
        p_with=p_with,
        p_without=p_without,
        p_one_more=p_one_more,
        p_most=max(p_with, _chance_with_most(one, problem)),
        begins_on=None if begins is None else local_day(now, frame.zone) + timedelta(days=begins),
        is_own=told.p is not None,
        have=told.have,
        need=told.need,
    )


def _chances(one: Prospect, told: Forecast, sessions: Sessions) -> tuple[float, float, float]:
    """Return a goal's chance with the plan, without work, with one session a day more: by the forecast's own course.

    Where the record does not carry a forecast, they are what is usual, and the goal says so.
    """
    if told.p is not None and told.without_work is not None and told.one_more_a_day is not None:
        return told.p, told.without_work, told.one_more_a_day
    outlook = look_ahead(one.now, step=one.step, target=one.target, sessions=sessions)
    return outlook.planned, outlook.without_work, outlook.one_more_a_day


def _chance_with_most(one: Prospect, problem: PlanProblem) -> float:
    """Return the chance with two sessions on every day on which the goal can have one."""
    task = next(task for task in problem.tasks if task.behaviour == one.behaviour.key)
    open_days = set(problem.open_days(task))
    most = Sessions(tuple(2 if day in open_days else 0 for day in range(problem.n_days)))
    return chance_with(one.now, step=one.step, target=one.target, sessions=most)
