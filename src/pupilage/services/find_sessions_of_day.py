"""The sessions still to hold today: of the kept plan, else as proposed."""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime

from pupilage.core.access import Actor
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.planning.planned_session import PlannedSession
from pupilage.core.planning.programme.plan import sessions_of_day, still_to_hold
from pupilage.core.planning.programme.without_plan import sessions_without_plan
from pupilage.core.planning.standing import Standing
from pupilage.services.read_plan import KeptPlan, kept_plan_of
from pupilage.storage.models import Programme


def find_sessions_of_day(
    actor: Actor, programme: Programme, standings: Sequence[Standing], *, now: datetime
) -> tuple[PlannedSession, ...]:
    """Return today's sessions that have not been held yet. One query; nothing is solved.

    standings: of the programme's goals, as the Today page has them. Assumes: the actor may read the programme.
    """
    return sessions_of(kept_plan_of(programme), actor, programme, standings, now=now)


def sessions_of(
    kept: KeptPlan, actor: Actor, programme: Programme, standings: Sequence[Standing], *, now: datetime
) -> tuple[PlannedSession, ...]:
    """Return the same from a plan at hand; without one of today, what the proposal would hold in the sessions left."""
    today = local_day(now, actor.zone)
    held = Counter({standing.behaviour.key: standing.n_sessions_today for standing in standings})
    if kept.plan is not None and any(day.day == today for day in kept.plan.days):
        left_out = Counter(kept.plan.held if kept.plan.made_on == today else {})
        return still_to_hold(sessions_of_day(kept.plan, today), held - left_out)
    return sessions_without_plan(
        [standing.state for standing in standings],
        now=now,
        n_sessions=max(0, programme.sessions_a_day - held.total()),
        age_weeks=age_weeks(programme.dog.born_on, today),
    )
