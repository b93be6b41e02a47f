"""The programme's plan as a model for CP-SAT. Only the solver's path imports this: the library takes half a second."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from ortools.sat.python import cp_model

from pupilage.core.planning.programme.rules import (
    EARLY_PROBE,
    ELSEWHERE_SESSIONS,
    MOST_A_DAY,
    NO_PROBE,
    PROBES_A_SESSION,
    ROOM_TO_ALTERNATE,
    WORTH_OF_ELSEWHERE,
    WORTH_OF_UPKEEP,
)
from pupilage.core.planning.programme.tasks import (
    PlanProblem,
    alternates,
    is_often,
    most_of,
    sure_from,
    upkeep_windows,
    values,
)

UNIT = 100_000
"""Whole numbers for one of weight × chance: the solver reckons in whole numbers."""

PACE_UNIT = 10
"""Whole numbers for one session of distance from the even pace."""

Linear = cp_model.LinearExpr


def total(terms: Iterable[Linear]) -> Linear:
    """Return the sum as one expression of the solver's, also of nothing."""
    return cp_model.LinearExpr.sum(list(terms)) + 0


@dataclass
class PlanModel:
    """The model with its variables: sessions by task and day, how many by task, probes by task and day; its worth."""

    problem: PlanProblem
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    sessions: list[list[cp_model.IntVar]] = field(default_factory=list)
    counts: list[dict[int, cp_model.IntVar]] = field(default_factory=list)
    probes: list[dict[int, cp_model.IntVar]] = field(default_factory=list)
    worth: list[Linear] = field(default_factory=list)

    def number(self, i: int) -> Linear:
        """Return a task's number of sessions."""
        return total(n * chosen for n, chosen in self.counts[i].items())


def counts_model(problem: PlanProblem) -> PlanModel:
    """Return the model of the numbers alone: how many sessions of each goal in each stretch of days.

    Every plan fits it, so its optimum is never below that of the whole model: a bound. The stretches end where a goal
    opens, where the days for elsewhere begin, and at the days of the probes.
    """
    made = PlanModel(problem)
    stretches = _stretches(problem)
    for i, task in enumerate(problem.tasks):
        _choose_number(made, i, range(task.held, most_of(problem, task) + 1))
        made.sessions.append([_in_stretch(made, i, days) for days in stretches])
        made.model.add(total(made.sessions[i]) == made.number(i))
        _probe(made, i)
        last = [n for days, n in zip(stretches, made.sessions[i], strict=True) if _is_last(problem, days)]
        _go_elsewhere(made, i, last)
    for k, days in enumerate(stretches):
        _keep_room(made, days, total(row[k] for row in made.sessions))
    for first in {task.first_day for task in problem.tasks}:
        late = [(made.number(i), task) for i, task in enumerate(problem.tasks) if task.first_day >= first]
        n_held = sum(task.held for _, task in late) if first else 0
        made.model.add(total(number for number, _ in late) <= n_held + sum(problem.room[first:]))
    for i, j, need in _needs(problem):
        no_more = total(one for n, one in made.counts[i].items() if n == problem.tasks[i].held)
        made.model.add(no_more + total(one for n, one in made.counts[j].items() if n >= need) >= 1)
    made.model.maximize(total(made.worth))
    return made


def _stretches(problem: PlanProblem) -> list[range]:
    """Return the days in stretches."""
    edges = {0, problem.n_days, *probe_days(problem), *problem.elsewhere_days()[:1]}
    edges |= {day + 1 for day in probe_days(problem)} | {task.first_day for task in problem.tasks}
    ends = sorted(edge for edge in edges if edge <= problem.n_days)
    return [range(start, end) for start, end in pairwise(ends)]


def _is_last(problem: PlanProblem, days: range) -> bool:
    """Return whether the open days of a stretch are all days for elsewhere; no stretch has them and others."""
    open_days = {day for day in days if problem.room[day] > 0}
    return bool(open_days) and open_days <= set(problem.elsewhere_days())


def _in_stretch(made: PlanModel, i: int, days: range) -> cp_model.IntVar:
    """Return a task's sessions in a stretch: one a day, or two where it has many and the day has room to alternate."""
    problem, task = made.problem, made.problem.tasks[i]
    open_days = [day for day in problem.open_days(task) if day in days]
    n_twice = sum(alternates(problem, day) for day in open_days)
    held = task.held if 0 in days else 0
    sessions = made.model.new_int_var(held, max(held, len(open_days) + n_twice), "")
    made.model.add(sessions <= held + len(open_days) + n_twice * _is_often(made, i))
    return sessions


def _is_often(made: PlanModel, i: int) -> Linear:
    return total(one for n, one in made.counts[i].items() if is_often(made.problem, made.problem.tasks[i], n))


def days_model(problem: PlanProblem, numbers: Mapping[str, Sequence[int]] | None = None) -> PlanModel:
    """Return the whole model: sessions of every goal on every day.

    numbers: of sessions to choose from, by behaviour; None for all that there can be.
    """
    made = PlanModel(problem)
    for i, task in enumerate(problem.tasks):
        most = most_of(problem, task)
        own = range(most + 1) if numbers is None else numbers[task.behaviour]
        _choose_number(made, i, sorted({n for n in own if task.held <= n <= most} or {task.held}))
        _place(made, i)
        _keep_up(made, i)
        _go_elsewhere(made, i, [made.sessions[i][day] for day in problem.elsewhere_days()])
        _probe(made, i)
    for day in range(problem.n_days):
        sessions = total(row[day] for row in made.sessions)
        _keep_room(made, range(day, day + 1), sessions)
        _alternate(made, day, sessions)
    for i, j, need in _needs(problem):
        _wait_for(made, i, j, need)
    made.model.maximize(total(made.worth))
    return made


def even_model(problem: PlanProblem, numbers: Mapping[str, int], least: int) -> PlanModel:
    """Return the model that spreads these numbers of sessions most evenly, at a worth (in UNIT) of `least` or more."""
    made = days_model(problem, {key: [n] for key, n in numbers.items()})
    made.model.add(total(made.worth) >= least)
    made.model.minimize(total(_distances(made, i) for i in range(len(problem.tasks))))
    return made


def _choose_number(made: PlanModel, i: int, numbers: Sequence[int]) -> None:
    task = made.problem.tasks[i]
    most = max(numbers)
    worth = values(task, most, len(upkeep_windows(made.problem, task)))
    chosen = {n: made.model.new_bool_var("") for n in numbers}
    made.model.add_exactly_one(chosen.values())
    made.counts.append(chosen)
    made.worth += [round(UNIT * worth[n]) * one for n, one in chosen.items()]


def _place(made: PlanModel, i: int) -> None:
    problem, task = made.problem, made.problem.tasks[i]
    open_days = set(problem.open_days(task))
    most_a_day = MOST_A_DAY if is_often(problem, task, max(made.counts[i])) else min(1, max(made.counts[i]))
    row: list[cp_model.IntVar] = []
    for day in range(problem.n_days):
        most = min(most_a_day, MOST_A_DAY if alternates(problem, day) else 1) if day in open_days else 0
        least = task.held if day == 0 else 0
        row.append(made.model.new_int_var(least, max(most, least), ""))
    made.sessions.append(row)
    made.model.add(total(row) == made.number(i))


def _distances(made: PlanModel, i: int) -> Linear:
    """Return the distance of a task's sessions so far from an even pace over the room of its open days, summed.

    The distance is drawn through its values at whole numbers, so that the relaxed model has whole answers.
    """
    open_days, n = made.problem.open_days(made.problem.tasks[i]), max(made.counts[i])
    if len(open_days) < 2 or n == 0:
        return total([])
    whole = sum(made.problem.room[day] for day in open_days)
    room, distances = 0, []
    for k, day in enumerate(open_days[:-1]):
        so_far = total(made.sessions[i][earlier] for earlier in open_days[: k + 1])
        room += made.problem.room[day]
        below, beyond = divmod(n * room * PACE_UNIT // whole, PACE_UNIT)
        distance = made.model.new_int_var(0, PACE_UNIT * (n + 1), "")
        made.model.add(distance >= PACE_UNIT * (below - so_far) + beyond)
        made.model.add(distance >= beyond + (PACE_UNIT - 2 * beyond) * (so_far - below))
        made.model.add(distance >= PACE_UNIT * (so_far - below) - beyond)
        distances.append(distance)
    return total(distances)


def _keep_up(made: PlanModel, i: int) -> None:
    """Take the loss for every interval missed, beyond those that so few sessions must miss."""
    task, windows = made.problem.tasks[i], upkeep_windows(made.problem, made.problem.tasks[i])
    if not windows:
        return
    missed = []
    for window in windows:
        miss = made.model.new_bool_var("")
        made.model.add(total(made.sessions[i][day] for day in window) + miss >= 1)
        missed.append(miss)
    loss = round(UNIT * WORTH_OF_UPKEEP * task.weight)
    reckoned = total((len(windows) - n) * one for n, one in made.counts[i].items() if n < len(windows))
    made.worth.append(-loss * (total(missed) - reckoned))


def _go_elsewhere(made: PlanModel, i: int, last: Sequence[Linear]) -> None:
    """Take the loss for every session that a sure goal lacks among those of the days for elsewhere."""
    least = sure_from(made.problem.tasks[i], max(made.counts[i]))
    if least is None or not last:
        return
    sure = total(one for n, one in made.counts[i].items() if n >= least)
    missing = made.model.new_int_var(0, ELSEWHERE_SESSIONS, "")
    made.model.add(missing + total(last) >= ELSEWHERE_SESSIONS * sure)
    made.worth.append(-round(UNIT * WORTH_OF_ELSEWHERE * made.problem.tasks[i].weight) * missing)


def probe_days(problem: PlanProblem) -> list[int]:
    """Return the days on which a probe may be: the last two that are open, the later one first."""
    return [day for day in range(problem.n_days) if problem.room[day] > 0][-2:][::-1]


def _probe(made: PlanModel, i: int) -> None:
    problem, task = made.problem, made.problem.tasks[i]
    days = [day for day in probe_days(problem) if task.may_start and day >= task.first_day]
    made.probes.append({day: made.model.new_bool_var("") for day in days})
    if not days:
        return
    made.model.add(total(made.probes[i].values()) <= 1)
    none, early = round(UNIT * NO_PROBE * task.weight), round(UNIT * EARLY_PROBE * task.weight)
    made.worth.append(-none * (1 - total(made.probes[i].values())))
    made.worth += [-early * probe for day, probe in made.probes[i].items() if day < problem.n_days - 1]


def _keep_room(made: PlanModel, days: range, sessions: Linear) -> None:
    """Keep the room of days: their sessions, and a session's room for every three probes."""
    probes = [probe for own in made.probes for day, probe in own.items() if day in days]
    room = sum(made.problem.room[day] for day in days)
    if not probes:
        made.model.add(sessions <= room)
        return
    for_probes = made.model.new_int_var(0, len(probes), "")
    made.model.add(PROBES_A_SESSION * for_probes >= total(probes))
    made.model.add(sessions + for_probes <= room)


def _alternate(made: PlanModel, day: int, sessions: Linear) -> None:
    """Let a behaviour stand twice on a day only where it has many sessions, and another one lies between."""
    if not alternates(made.problem, day):
        return
    for i, task in enumerate(made.problem.tasks):
        if not is_often(made.problem, task, max(made.counts[i])) or (day == 0 and task.held >= MOST_A_DAY):
            continue
        twice = made.model.new_bool_var("")
        made.model.add(made.sessions[i][day] <= 1 + twice)
        made.model.add(twice <= _is_often(made, i))
        if len(made.problem.tasks) > 1:
            made.model.add(sessions >= ROOM_TO_ALTERNATE * twice)


def _needs(problem: PlanProblem) -> list[tuple[int, int, int]]:
    """Return (task, prerequisite, sessions of the prerequisite before it), by place."""
    place = {task.behaviour: i for i, task in enumerate(problem.tasks)}
    return [(i, place[need.behaviour], need.n_sessions) for i, task in enumerate(problem.tasks) for need in task.needs]


def _wait_for(made: PlanModel, i: int, j: int, need: int) -> None:
    """Let a task begin only on a day after those on which its prerequisite has had the sessions it needs."""
    task = made.problem.tasks[i]
    for day in made.problem.open_days(task):
        is_open = made.model.new_bool_var("")
        before = total(made.sessions[j][earlier] for earlier in range(day))
        made.model.add(before >= need * is_open)
        made.model.add(made.sessions[i][day] <= (task.held if day == 0 else 0) + MOST_A_DAY * is_open)
