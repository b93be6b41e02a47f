"""A day's sessions where no plan is kept: what the proposal would hold next."""

from collections.abc import Sequence
from datetime import datetime

from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.room import minutes_of, session_minutes
from pupilage.core.planning.programme.rules import TRIES_A_SESSION
from pupilage.core.planning.proposal import GoalState, propose_sessions


def sessions_without_plan(
    states: Sequence[GoalState], *, now: datetime, n_sessions: int, age_weeks: float
) -> tuple[PlannedSession, ...]:
    """Return at most n_sessions for the rest of the day, the most useful first, as `propose_sessions` has them.

    Parameters: states, of the goals, today's sessions counted; age_weeks, of the pup today.
    Raises: InvalidInput as `propose_sessions`.
    """
    known = {state.behaviour.key: state for state in states}
    proposals = propose_sessions(states, now=now, limit=n_sessions)
    return tuple(_planned(known[one.behaviour_key], one.step_key, age_weeks) for one in proposals)


def _planned(state: GoalState, step_key: str, age_weeks: float) -> PlannedSession:
    step = state.behaviour.step(step_key) or state.behaviour.steps[0]
    return PlannedSession(
        behaviour=state.behaviour.key,
        step=step.key,
        purpose=Purpose.UPKEEP if state.at_target else Purpose.TEACH,
        minutes=minutes_of(state.behaviour, step, session_minutes(age_weeks)),
        place=step.criterion.place,
        distraction=step.criterion.distraction,
        pieces=TRIES_A_SESSION,
    )
