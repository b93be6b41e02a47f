"""A plan as it is kept and shown: sessions day by day, each goal's chances, and what it had to leave."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.rules import Rule
from pupilage.core.words import Sentence

NEW_PERSON = "new-person"
FAMILY = "family"
"""Who cues, where it is not the trainer: somebody new, and the family's words and hands. Stored words, fixed for good;
a front end has its own words for them."""


@dataclass(frozen=True)
class PlanDay:
    """A day of the plan. sessions: in their order, those held already left out; n_room: that the day has room for;
    rule: what leaves no more room."""

    day: date
    sessions: tuple[PlannedSession, ...]
    n_room: int
    rule: Rule


@dataclass(frozen=True)
class GoalPlan:
    """A goal in the plan.

    n_sessions: until the hand-over, today's held ones counted; p_with, p_without, p_one_more: its chance with them,
    without any more work, and with one session more on every day; p_most: with two sessions on every day it can have
    one; begins_on: its first session, None without one; is_own: whether the pup's own record carries the chances
    (else they are what is usual); have, need: sessions towards that.
    """

    behaviour: str
    target: str
    weight: int
    n_sessions: int
    p_with: float
    p_without: float
    p_one_more: float
    p_most: float
    begins_on: date | None
    is_own: bool
    have: int
    need: int


@dataclass(frozen=True)
class Clash:
    """What the plan could not do, the named rules that clash over it, and what would help."""

    what: Sentence
    rules: tuple[Sentence, ...]
    ways: tuple[Sentence, ...] = ()


@dataclass(frozen=True)
class Change:
    """What becomes of another goal: its chance before and after."""

    behaviour: str
    p_before: float
    p_after: float


@dataclass(frozen=True)
class Relief:
    """A goal to drop, or to soften to a nearer step: the sessions that frees (below 0: it takes them), and
    what becomes of the others.

    step: the nearer step, None where the goal is dropped; p: the goal's own chance then.
    """

    behaviour: str
    step: str | None
    n_freed: int
    p: float
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Proof:
    """How good the plan is: status “optimal” or “within”; value and bound in weight × chance; gap, of the value."""

    status: str
    value: float
    bound: float
    gap: float
    n_models: int


@dataclass(frozen=True)
class ProgrammePlan:
    """The plan of a stay from `made_on` to the day before the hand-over.

    held: sessions that had been held on that day as it was made, by behaviour, which its sessions leave out; reliefs:
    the first to take comes first.
    """

    made_on: date
    handover_on: date
    days: tuple[PlanDay, ...]
    goals: tuple[GoalPlan, ...]
    clashes: tuple[Clash, ...]
    reliefs: tuple[Relief, ...]
    proof: Proof
    held: Mapping[str, int] = field(default_factory=dict)

    def goal(self, behaviour: str) -> GoalPlan | None:
        """Return the goal of this behaviour, or None."""
        return next((goal for goal in self.goals if goal.behaviour == behaviour), None)

    @property
    def weight(self) -> int:
        """The weight of all goals."""
        return sum(goal.weight for goal in self.goals)

    @property
    def expected_weight(self) -> float:
        """The weight of goals that is expected to be met."""
        return sum(goal.weight * goal.p_with for goal in self.goals)


def sessions_of_day(plan: ProgrammePlan, day: date) -> tuple[PlannedSession, ...]:
    """Return a day's sessions in their order; none for a day outside the plan."""
    return next((one.sessions for one in plan.days if one.day == day), ())


def numbers_from(plan: ProgrammePlan, day: date) -> dict[str, int]:
    """Return each goal's sessions from a day on; those held on the day as the plan was made are counted, probes not."""
    held = plan.held if plan.made_on == day else {}
    to_hold = Counter(
        session.behaviour
        for one in plan.days
        if one.day >= day
        for session in one.sessions
        if session.purpose is not Purpose.PROBE
    )
    return {goal.behaviour: to_hold[goal.behaviour] + held.get(goal.behaviour, 0) for goal in plan.goals}


def still_to_hold(sessions: tuple[PlannedSession, ...], held: Mapping[str, int]) -> tuple[PlannedSession, ...]:
    """Return the sessions without as many of each behaviour, from the first on, as have been held since.

    held: by behaviour. A probe is not struck off by a session.
    """
    left, open_ones = dict(held), []
    for session in sessions:
        if session.purpose is not Purpose.PROBE and left.get(session.behaviour, 0) > 0:
            left[session.behaviour] -= 1
        else:
            open_ones.append(session)
    return tuple(open_ones)
