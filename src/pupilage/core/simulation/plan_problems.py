"""Plans to be made for invented stays: what the planner's speed and proof are measured on."""

from datetime import UTC, datetime

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.planning.programme.tasks import Need, PlanProblem, Task, Upkeep
from pupilage.core.planning.sharing import curve_of
from pupilage.core.training.posterior.knowledge import Knowledge, know

NOW = datetime(2026, 5, 2, 8, tzinfo=UTC)
SHARE_AT_GOAL = 0.2
SHARE_BOUND = 0.25
SHARE_LATE = 0.15
DAYS_A_WEEK = 7


def draw_problem(catalogue: Catalogue, *, n_days: int, n_goals: int, sessions_a_day: int, seed: int) -> PlanProblem:
    """Return a plan to be made: curves of the forecast for pups of the prior, at steps drawn anew.

    A quarter of the goals waits for another, a fifth is at its goal and kept up, some begin a third of the way in; one
    day a week is off or half. Parameters: n_goals up to the number of behaviours in the catalogue.
    """
    rng = np.random.default_rng(seed)
    known = know(catalogue.behaviours, [])
    behaviours = rng.permutation(np.array(list(catalogue.behaviours), dtype=object))[:n_goals]
    tasks: list[Task] = []
    for key in behaviours:
        tasks.append(_task(catalogue.behaviours[key], known, tasks, n_days=n_days, rng=rng))
    room = np.full(n_days, sessions_a_day)
    for day in range(int(rng.integers(DAYS_A_WEEK)), n_days - 1, DAYS_A_WEEK):
        room[day] = 0 if rng.random() < 0.5 else max(1, sessions_a_day // 2)
    return PlanProblem(tuple(tasks), tuple(int(n) for n in room))


def _task(
    behaviour: Behaviour, known: Knowledge, earlier: list[Task], *, n_days: int, rng: np.random.Generator
) -> Task:
    step = int(rng.integers(0, len(behaviour.steps) - 1))
    at_goal = rng.random() < SHARE_AT_GOAL
    target = step if at_goal else int(rng.integers(step + 1, len(behaviour.steps)))
    first = 0
    needs: tuple[Need, ...] = ()
    if earlier and rng.random() < SHARE_BOUND:
        needed = earlier[int(rng.integers(len(earlier)))]
        first, needs = needed.first_day + 1, (Need(needed.behaviour, 1),)
    elif rng.random() < SHARE_LATE:
        first = n_days // 3
    return Task(
        behaviour=behaviour.key,
        weight=int(rng.integers(1, 6)),
        curve=curve_of(known.at(behaviour.key, NOW), step=step, target=target, n_days=n_days, first_day=first),
        first_day=first,
        needs=needs,
        upkeep=Upkeep(int(rng.integers(0, 3)), behaviour.maintain_every_days) if at_goal else None,
    )
