"""Random problems for the plan's solver, and a checker of its rules that knows nothing of the model."""

from hypothesis import strategies as st

from pupilage.core.planning.programme.placement import Placement
from pupilage.core.planning.programme.tasks import Need, PlanProblem, Task, Upkeep
from pupilage.core.planning.sharing import Curve


@st.composite
def curves(draw: st.DrawFn, most: int) -> Curve:
    """Draw a rising curve over 0 … most sessions, of whatever shape."""
    steps = draw(st.lists(st.floats(0.0, 1.0), min_size=most + 1, max_size=most + 1))
    height, whole = draw(st.floats(0.05, 0.95)), sum(steps) or 1.0
    p = [height * sum(steps[: i + 1]) / whole for i in range(most + 1)]
    return Curve(tuple(range(most + 1)), tuple(p))


@st.composite
def problems(draw: st.DrawFn, *, most_goals: int = 5, most_days: int = 8) -> PlanProblem:
    """Draw goals with weights, first days, prerequisites and upkeep, and the room of each day."""
    n_days, n_goals = draw(st.integers(1, most_days)), draw(st.integers(1, most_goals))
    tasks: list[Task] = []
    for i in range(n_goals):
        needs = ()
        first = draw(st.integers(0, 2))
        if i and draw(st.booleans()):
            needs = (Need(tasks[draw(st.integers(0, i - 1))].behaviour, draw(st.integers(1, 2))),)
        upkeep = Upkeep(draw(st.integers(0, 3)), draw(st.integers(1, 4))) if draw(st.booleans()) else None
        curve = draw(curves(2 * n_days))
        held = draw(st.integers(0, 2)) if draw(st.booleans()) else 0
        tasks.append(Task(f"b{i}", draw(st.integers(1, 5)), curve, first, needs, upkeep, held))
    room = draw(st.lists(st.integers(0, 5), min_size=n_days, max_size=n_days))
    room[0] = max(room[0], sum(task.held for task in tasks))
    return PlanProblem(tuple(tasks), tuple(room))


def broken_rules(problem: PlanProblem, found: Placement) -> list[str]:
    """Return the rules that a placement breaks, in words; written from the rules and not from the model."""
    broken = []
    for day, room in enumerate(problem.room):
        on_day = {task.behaviour: found.sessions[task.behaviour][day] for task in problem.tasks}
        n_probes = sum(probe == day for probe in found.probes.values())
        if sum(on_day.values()) + -(-n_probes // 3) > room:
            broken.append(f"day {day} holds more than its room")
        for key, n in on_day.items():
            held = next(task.held for task in problem.tasks if task.behaviour == key) if day == 0 else 0
            if n > max(2, held):
                broken.append(f"{key} stands {n} times on day {day}")
            if n == 2 > held and len(problem.tasks) > 1 and sum(on_day.values()) < 3:
                broken.append(f"{key} stands twice in a row on day {day}")
            if n < held:
                broken.append(f"{key}: the plan forgets what was held today")
    for task in problem.tasks:
        broken += _broken_by(problem, found, task)
    return broken


def _broken_by(problem: PlanProblem, found: Placement, task: Task) -> list[str]:
    row, broken = found.sessions[task.behaviour], []
    if len(row) != problem.n_days:
        broken.append(f"{task.behaviour} has another number of days")
    planned = [n - (task.held if day == 0 else 0) for day, n in enumerate(row)]
    if any(n and day < task.first_day for day, n in enumerate(planned)):
        broken.append(f"{task.behaviour} begins too early")
    begins = next((day for day, n in enumerate(planned) if n), None)
    for need in task.needs:
        if begins is not None and sum(found.sessions[need.behaviour][:begins]) < need.n_sessions:
            broken.append(f"{task.behaviour} begins before {need.behaviour} can have been met")
    open_days = sum(1 for day in range(task.first_day, problem.n_days) if problem.room[day])
    twice = [day for day, n in enumerate(row) if n == 2 and not (day == 0 and task.held)]
    if twice and sum(row) <= 0.75 * open_days:
        broken.append(f"{task.behaviour} stands twice on a day without need")
    return broken
