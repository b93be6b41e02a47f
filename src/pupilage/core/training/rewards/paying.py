"""Which of the next correct responses are rewarded with food: the plan that the session screen shows.

Only for a behaviour that the engine holds sure at its goal; everything else is rewarded every time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pupilage.core.catalogue.behaviour import Behaviour, Scoring
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import Now, at_moment
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.rewards.schedules import interval_gaps_s, paid_responses
from pupilage.core.training.rewards.thinning import Thinness, thin
from pupilage.core.words import Sentence

P_GOAL = 0.8
P_SURE = 0.75
SURE = 0.85
"""Sure at its goal: the next try there is expected to be met in 0.8 or more (the test asks for 8 of 10), and the grid
is 0.85 sure of 0.75. Common practice asks for a mastery criterion before thinning; the figures are ours."""

LOOK_AHEAD = 60
"""Correct responses that a phone without a server can go on with; a session has 15 tries as a rule."""


@dataclass(frozen=True)
class PayPlan:
    """How a session's correct responses are rewarded.

    paid: for each correct response of the session, the first included, whether food is given; holds have only the
    next one in `next_paid`. ratio, correct responses a pay; reason, the sentence beside it.
    """

    ratio: float
    reason: Sentence
    next_paid: bool
    paid: tuple[bool, ...] = ()


def plan_pay(
    behaviour: Behaviour,
    known: Knowledge,
    *,
    session_id: str,
    step: str,
    started_at: datetime,
    target: str | None = None,
    next_hold_s: float | None = None,
) -> PayPlan | None:
    """Return how a training session's correct responses are rewarded, None while every one is rewarded.

    The list is named by the session: it stays the same after a reload and an undo. Within a session it changes only
    where the tries send the pay back (`thinning.thin`).
    Parameters: step, in practice now; started_at, of the session; target, the goal's step, by default the
    behaviour's own; next_hold_s, what the next hold is asked for, for a behaviour scored as holds.
    """
    goal = behaviour.step_index(target or behaviour.target)
    place = behaviour.step_index(step)
    if goal is None or place is None or place < goal:
        return None
    trials = known.of(behaviour.key)
    zone = known.state.zone
    thinness = thin(behaviour, behaviour.steps[goal].key, trials, session_id=session_id, zone=zone)
    if thinness.level == 0 or not _was_sure(behaviour, known, goal, session_id, started_at):
        return None
    session = [t for t in trials if t.session_id == session_id and t.kind is SessionKind.TRAINING]
    if behaviour.scoring is Scoring.HOLD:
        return _plan_holds(behaviour.steps[goal].criterion.duration_s, thinness, session, session_id, next_hold_s)
    paid = paid_responses(thinness.ratio, session_id, LOOK_AHEAD)
    n_met = sum(trial.outcome is Outcome.MET for trial in session)
    return PayPlan(thinness.ratio, thinness.reason, n_met >= len(paid) or paid[n_met], paid)


def _was_sure(behaviour: Behaviour, known: Knowledge, goal: int, session_id: str, started_at: datetime) -> bool:
    """Say whether the behaviour was sure at its goal before this session: the plan shall not waver."""
    newest = known.trials[-1].session_id if known.trials else ""
    before = known.before if newest == session_id else known.state
    return known.keep(
        ("sure", behaviour.key, goal, session_id),
        lambda: is_sure(at_moment(before, behaviour.key, now=started_at), goal),
    )


def is_sure(now: Now, goal: int) -> bool:
    """Say whether a behaviour is sure at its goal (0-based): by its mean, and by how little of it lies lower."""
    reading = read_step(now, goal, tired=0.0)
    return reading.mean >= P_GOAL and reading.p_at_least(P_SURE) >= SURE


def _plan_holds(
    duration_s: float, thinness: Thinness, session: Sequence[Trial], session_id: str, next_hold_s: float | None
) -> PayPlan:
    """Return the plan for holds: food for the first one met once the seconds held since the last pay suffice."""
    gaps_s = interval_gaps_s(max(0.1, duration_s), thinness.ratio, session_id)
    gap_s, since_s = next(gaps_s), 0.0
    for trial in session:
        if trial.hold is None:
            continue
        since_s += trial.hold.held_s
        if trial.outcome is Outcome.MET and since_s >= gap_s:
            gap_s, since_s = next(gaps_s), 0.0
    return PayPlan(thinness.ratio, thinness.reason, since_s + (next_hold_s or duration_s) >= gap_s)
