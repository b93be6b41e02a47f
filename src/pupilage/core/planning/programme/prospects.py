"""Each goal as the plan weighs it: its chances by number of sessions, when it may begin, what it waits for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import ceil, log

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.planning.programme.room import Circumstances, DayRoom
from pupilage.core.planning.programme.rules import FIRST_MET, TRIES_A_SESSION
from pupilage.core.planning.programme.tasks import Need, PlanProblem, Task, Upkeep
from pupilage.core.planning.sharing import Curve, curve_of
from pupilage.core.planning.standing import Frame, GoalAim
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.retention import days_until_due
from pupilage.core.training.posterior.state import Now
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.training.record.history import training_of

MOST_UNTIL_MET = 10


@dataclass(frozen=True)
class PlanInput:
    """What a plan is made from, beside the record and the catalogue."""

    aims: tuple[GoalAim, ...]
    frame: Frame
    around: Circumstances = field(default_factory=Circumstances)


@dataclass(frozen=True)
class Prospect:
    """A goal in prospect. step, target: places (0-based); now, what was known of it this morning.

    old_on: the first day (0 is today) on which the pup is there and old enough; first_day: that, or the day on which
    its prerequisites can have been met; missing: prerequisites that nothing in the plan brings.
    """

    behaviour: Behaviour
    weight: int
    step: int
    target: int
    now: Now
    old_on: int
    first_day: int
    needs: tuple[Need, ...]
    missing: tuple[str, ...]
    upkeep: Upkeep | None
    curve: Curve

    @property
    def at_target(self) -> bool:
        return self.step >= self.target


def foresee(given: PlanInput, known: Knowledge, catalogue: Catalogue, *, now: datetime) -> tuple[Prospect, ...]:
    """Return the goals in prospect, in the order of the aims. known: what was known this morning.

    An aim whose behaviour or step has left the catalogue is left out, as in `standing.stand`.
    """
    aims = [aim for aim in given.aims if _is_known(aim, catalogue)]
    opening = _Opening(given, known, catalogue, now)
    return tuple(_prospect(aim, opening) for aim in aims)


def problem_of(
    prospects: Sequence[Prospect], rooms: Sequence[DayRoom], held_today: Mapping[str, int] | None = None
) -> PlanProblem:
    """Return what the solver is asked."""
    held = held_today or {}
    return PlanProblem(tuple(_task(one, held) for one in prospects), tuple(room.n_sessions for room in rooms))


def nearer(prospect: Prospect, n_days: int) -> Prospect | None:
    """Return the prospect with the step before as its goal, None where practice is there already."""
    if prospect.target - 1 < max(1, prospect.step):
        return None
    curve = curve_of(
        prospect.now, step=prospect.step, target=prospect.target - 1, n_days=n_days, first_day=prospect.first_day
    )
    return replace(prospect, target=prospect.target - 1, curve=curve)


def _task(one: Prospect, held: Mapping[str, int]) -> Task:
    return Task(
        behaviour=one.behaviour.key,
        weight=one.weight,
        curve=one.curve,
        first_day=one.first_day,
        needs=() if one.missing else one.needs,
        upkeep=one.upkeep,
        held=held.get(one.behaviour.key, 0),
        may_start=not one.missing,
    )


def _is_known(aim: GoalAim, catalogue: Catalogue) -> bool:
    behaviour = catalogue.find_behaviour(aim.behaviour)
    return behaviour is not None and behaviour.step(aim.step) is not None


@dataclass(frozen=True)
class _Opening:
    """When each behaviour may begin."""

    given: PlanInput
    known: Knowledge
    catalogue: Catalogue
    now: datetime

    @property
    def n_days(self) -> int:
        return self.given.frame.days_left(self.now)

    def aim(self, key: str) -> GoalAim | None:
        return next((aim for aim in self.given.aims if aim.behaviour == key and _is_known(aim, self.catalogue)), None)

    def old_on(self, behaviour: Behaviour) -> int:
        frame = self.given.frame
        today = local_day(self.now, frame.zone)
        days = ceil(7 * (behaviour.min_age_weeks - age_weeks(frame.born_on, today)))
        return max(0, days, (frame.arrival_on - today).days)

    def lacking(self, behaviour: Behaviour) -> list[str]:
        """Return the prerequisites never met."""
        return [key for key in behaviour.prerequisites if not self._is_met(key)]

    def _is_met(self, key: str) -> bool:
        return any(trial.outcome is Outcome.MET for trial in self.known.of(key))

    def missing(self, behaviour: Behaviour) -> tuple[str, ...]:
        """Return the prerequisites never met that are no goals, or wait for such ones themselves."""
        return tuple(key for key in self.lacking(behaviour) if self.aim(key) is None or self.missing_of(key))

    def missing_of(self, key: str) -> tuple[str, ...]:
        return self.missing(self.catalogue.behaviours[key])

    def first_day(self, behaviour: Behaviour) -> int:
        """Return the first day on which the pup is old enough and the prerequisites can have been met."""
        days = [self.old_on(behaviour)]
        for key in self.lacking(behaviour):
            if self.aim(key) is not None:
                days.append(self.first_day(self.catalogue.behaviours[key]) + self.n_until_met(key))
        return max(days)

    def n_until_met(self, key: str) -> int:
        """Return the sessions by which one try is met with FIRST_MET, the tries taken as independent."""
        place = self.place(self.catalogue.behaviours[key])
        p = min(0.999, read_step(self.known.at(key, self.now), place).mean)
        return min(MOST_UNTIL_MET, max(1, ceil(log(1.0 - FIRST_MET) / (TRIES_A_SESSION * log(1.0 - p)))))

    def place(self, behaviour: Behaviour) -> int:
        aim = self.aim(behaviour.key)
        target = None if aim is None else aim.step
        step = current_step(behaviour, self.known, now=self.now, target=target, days_left=self.n_days)
        return behaviour.step_index(step) or 0


def _prospect(aim: GoalAim, opening: _Opening) -> Prospect:
    behaviour = opening.catalogue.behaviours[aim.behaviour]
    at, n_days = opening.known.at(aim.behaviour, opening.now), opening.n_days
    step, target = opening.place(behaviour), behaviour.step_index(aim.step) or 0
    first_day, missing = opening.first_day(behaviour), opening.missing(behaviour)
    needs = [Need(key, opening.n_until_met(key)) for key in opening.lacking(behaviour) if opening.aim(key) is not None]
    curve = opening.known.keep(
        ("prospect", aim.behaviour, step, target, n_days, first_day, local_day(opening.now, opening.given.frame.zone)),
        lambda: curve_of(at, step=step, target=target, n_days=n_days, first_day=first_day),
    )
    return Prospect(
        behaviour=behaviour,
        weight=aim.weight,
        step=step,
        target=target,
        now=at,
        old_on=opening.old_on(behaviour),
        first_day=first_day,
        needs=tuple(needs),
        missing=missing,
        upkeep=_upkeep(behaviour, target, opening) if step >= target else None,
        curve=curve,
    )


def _upkeep(behaviour: Behaviour, target: int, opening: _Opening) -> Upkeep | None:
    if not training_of(opening.known.of(behaviour.key)):
        return None
    state = opening.known.arrived(opening.now)
    due = days_until_due(state, behaviour, target, now=opening.now)
    return Upkeep(due, behaviour.maintain_every_days)
