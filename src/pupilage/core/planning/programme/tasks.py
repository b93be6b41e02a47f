"""What the solver is asked: each goal with its chances by number of sessions, and the room of each day."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.programme.rules import (
    ELSEWHERE_DAYS,
    MOST_A_DAY,
    OFTEN,
    ROOM_TO_ALTERNATE,
    SESSION_PRICE,
    SURE,
    WORTH_OF_UPKEEP,
)
from pupilage.core.planning.sharing import Curve


@dataclass(frozen=True)
class Need:
    """A prerequisite among the goals that has not been met yet: it is, after n_sessions of its own."""

    behaviour: str
    n_sessions: int


@dataclass(frozen=True)
class Upkeep:
    """A behaviour at its goal: due in `due_in_days` (0 is today), then every `every_days`."""

    due_in_days: int
    every_days: int


@dataclass(frozen=True)
class Task:
    """A goal as the solver sees it.

    curve: its chance by number of sessions; first_day: the first on which it can be trained (0 is today); held: its
    sessions of today; may_start, whether it can have any session (False: a prerequisite is missing).
    """

    behaviour: str
    weight: int
    curve: Curve
    first_day: int = 0
    needs: tuple[Need, ...] = ()
    upkeep: Upkeep | None = None
    held: int = 0
    may_start: bool = True

    @property
    def p_none(self) -> float:
        """The chance without any session."""
        return self.curve.p[0]

    @property
    def p_most(self) -> float:
        """The best chance that any number of sessions gives."""
        return max(self.curve.p)


@dataclass(frozen=True)
class PlanProblem:
    """Tasks, and how many sessions each day has room for, from today to the day before the hand-over."""

    tasks: tuple[Task, ...]
    room: tuple[int, ...]

    @property
    def n_days(self) -> int:
        return len(self.room)

    def open_days(self, task: Task) -> list[int]:
        """Return the days on which a task can be trained."""
        if not task.may_start:
            return []
        return [day for day in range(task.first_day, self.n_days) if self.room[day] > 0]

    def elsewhere_days(self) -> list[int]:
        """Return the last days before the probe's on which sure goals go elsewhere."""
        days = [day for day in range(self.n_days - 1) if self.room[day] > 0]
        return days[-min(ELSEWHERE_DAYS, len(days) // 3) :] if len(days) >= 3 else []


def chances(task: Task, most: int) -> list[float]:
    """Return a task's chance with 0, 1, … `most` sessions: its curve, linear between its numbers, level beyond."""
    return [float(p) for p in np.interp(np.arange(most + 1), task.curve.sessions, task.curve.p)]


def most_of(problem: PlanProblem, task: Task) -> int:
    """Return the most sessions that a task can have: two on every day that has room to alternate, else one."""
    per_day = [MOST_A_DAY if alternates(problem, day) else 1 for day in problem.open_days(task)]
    return max(task.held, min(sum(per_day), task.curve.sessions[-1]))


def alternates(problem: PlanProblem, day: int) -> bool:
    """Return whether a behaviour may stand twice on a day: with another between, or alone with a rest between."""
    needed = ROOM_TO_ALTERNATE if len(problem.tasks) > 1 else MOST_A_DAY
    return problem.room[day] >= needed


def is_often(problem: PlanProblem, task: Task, n: int) -> bool:
    """Return whether n sessions are so many that some may stand twice on a day."""
    return n > OFTEN * len(problem.open_days(task))


def values(task: Task, most: int, n_windows: int) -> list[float]:
    """Return what 0 … `most` sessions of a task are worth: weight × chance, less their price and the upkeep that so
    few must miss."""
    return [
        task.weight * (p - WORTH_OF_UPKEEP * max(0, n_windows - n)) - SESSION_PRICE * n
        for n, p in enumerate(chances(task, most))
    ]


def upkeep_windows(problem: PlanProblem, task: Task) -> list[list[int]]:
    """Return the intervals in each of which a behaviour at its goal should be practised once, as lists of days.

    An interval without an open day asks nothing.
    """
    if task.upkeep is None:
        return []
    open_days, windows = set(problem.open_days(task)), []
    start, end = 0, task.upkeep.due_in_days
    while end < problem.n_days:
        windows.append([day for day in range(start, end + 1) if day in open_days])
        start, end = end + 1, end + max(1, task.upkeep.every_days)
    return [window for window in windows if window]


def sure_from(task: Task, most: int) -> int | None:
    """Return the least number of sessions with which a goal is expected sure, None where none is enough."""
    return next((n for n, p in enumerate(chances(task, most)) if p >= SURE), None)


def require_problem(problem: PlanProblem) -> None:
    """Refuse what is no problem. Raises InvalidInput with every figure that cannot be."""
    problems = _problems(problem.tasks)
    if any(not n >= 0 for n in problem.room):
        problems.append(Problem("room", "A day has room for 0 sessions or more."))
    if problems:
        raise InvalidInput(problems)


def _problems(tasks: Sequence[Task]) -> list[Problem]:
    problems, keys = [], [task.behaviour for task in tasks]
    if len(set(keys)) < len(keys):
        problems.append(Problem("goals", "A behaviour stands twice among the goals; leave one out."))
    for task in tasks:
        if not task.weight >= 1:
            problems.append(Problem("weight", "A goal's weight of {n} cannot be; give 1 to 5.", n=task.weight))
        sound = len(task.curve.p) == len(task.curve.sessions) > 0 == task.curve.sessions[0]
        if not sound or not all(0.0 <= p <= 1.0 for p in task.curve.p):
            problems.append(Problem("curve", "The chances of “{key}” are no chances.", key=task.behaviour))
        problems += [
            Problem("needs", "“{key}” is no goal; a need names one.", key=need.behaviour)
            for need in task.needs
            if need.behaviour not in keys
        ]
    return problems
