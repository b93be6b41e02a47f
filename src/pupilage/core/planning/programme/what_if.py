"""What if the stay were otherwise: two plans side by side before anything is changed."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.programme.clashes import NoPlan
from pupilage.core.planning.programme.making import make_plan
from pupilage.core.planning.programme.plan import Clash, GoalPlan, ProgrammePlan
from pupilage.core.planning.programme.prospects import PlanInput
from pupilage.core.planning.programme.room import minutes_problems
from pupilage.core.training.posterior.knowledge import Knowledge

MOST_DAYS = 180
MOST_SESSIONS = 12


@dataclass(frozen=True)
class Wish:
    """What would be otherwise; None, or no entry, leaves a thing as it is. weights: by behaviour, 0 drops the goal.

    minutes_a_day: 0 takes the limit away.
    """

    handover_on: date | None = None
    sessions_a_day: int | None = None
    days_off: tuple[date, ...] | None = None
    minutes_a_day: int | None = None
    weights: Mapping[str, int] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        return self == Wish()


@dataclass(frozen=True)
class WhatIf:
    """The plan as the stay is, and as it would be; a clash in the place of a plan that cannot be made."""

    now: ProgrammePlan | Clash
    then: ProgrammePlan | Clash

    @property
    def pairs(self) -> list[tuple[GoalPlan | None, GoalPlan | None]]:
        """Each goal now and then, in the order of now; None where one of the two does not have it."""
        now = self.now.goals if isinstance(self.now, ProgrammePlan) else ()
        then = {g.behaviour: g for g in self.then.goals} if isinstance(self.then, ProgrammePlan) else {}
        pairs: list[tuple[GoalPlan | None, GoalPlan | None]] = [(goal, then.pop(goal.behaviour, None)) for goal in now]
        return pairs + [(None, goal) for goal in then.values()]


def wished(given: PlanInput, wish: Wish) -> PlanInput:
    """Return the input of a plan with the wish taken up. Raises InvalidInput with every figure that cannot be."""
    _require(given, wish)
    aims = [replace(aim, weight=wish.weights.get(aim.behaviour, aim.weight)) for aim in given.aims]
    frame = replace(
        given.frame,
        handover_on=wish.handover_on or given.frame.handover_on,
        sessions_a_day=wish.sessions_a_day or given.frame.sessions_a_day,
    )
    off = given.around.days_off if wish.days_off is None else tuple(sorted(set(wish.days_off)))
    minutes = given.around.minutes_a_day if wish.minutes_a_day is None else wish.minutes_a_day or None
    around = replace(given.around, days_off=off, minutes_a_day=minutes)
    return PlanInput(tuple(aim for aim in aims if aim.weight), frame, around)


def compare_plans(given: PlanInput, wish: Wish, known: Knowledge, *, catalogue: Catalogue, now: datetime) -> WhatIf:
    """Return the plan as the stay is and as the wish would have it, without what gives way; nothing is written.

    Raises: InvalidInput as `wished` and `make_plan`.
    """
    then = wished(given, wish)
    return WhatIf(*(_plan_or_clash(one, known, catalogue, now) for one in (given, then)))


def _plan_or_clash(given: PlanInput, known: Knowledge, catalogue: Catalogue, now: datetime) -> ProgrammePlan | Clash:
    try:
        return make_plan(given, known, catalogue=catalogue, now=now, reliefs=False)
    except NoPlan as error:
        return error.clash


def _require(given: PlanInput, wish: Wish) -> None:
    problems: list[Problem] = minutes_problems(wish.minutes_a_day or None)
    if wish.sessions_a_day is not None and not 1 <= wish.sessions_a_day <= MOST_SESSIONS:
        problems.append(Problem("sessions_a_day", "Give a number of short sessions a day from 1 to 12."))
    if wish.handover_on is not None and not 0 < (wish.handover_on - given.frame.arrival_on).days <= MOST_DAYS:
        problems.append(
            Problem(
                "handover_on",
                "{day} cannot be the hand-over; give a day after the arrival, within {most} days.",
                day=wish.handover_on.isoformat(),
                most=MOST_DAYS,
            )
        )
    goals = {aim.behaviour for aim in given.aims}
    for key, weight in wish.weights.items():
        if key not in goals:
            problems.append(Problem("weights", "“{key}” is no goal of this stay.", key=key))
        if not 0 <= weight <= 5:
            problems.append(Problem("weights", "{n} is no weight; give 1 to 5, or 0 to drop the goal.", n=weight))
    if problems:
        raise InvalidInput(problems)
