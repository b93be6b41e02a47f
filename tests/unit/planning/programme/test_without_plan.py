"""A day without a plan: the sessions that the proposal would hold."""

from datetime import UTC, datetime

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.planning.planned_session import Purpose
from pupilage.core.planning.programme.without_plan import sessions_without_plan
from pupilage.core.planning.proposal import GoalState, propose_sessions
from pupilage.core.planning.sharing import Share

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
CATALOGUE = load_bundled()


def state(key: str, gain: float) -> GoalState:
    behaviour = CATALOGUE.behaviours[key]
    return GoalState(
        behaviour=behaviour,
        step=behaviour.steps[0].key,
        target=behaviour.target,
        weight=3,
        share=Share(5, 0.1, 0.6, 0.8, 0.1),
        gain=gain,
        p_ready=0.5,
        last_trained_at=None,
        n_sessions_today=0,
        prerequisites_met=True,
        old_enough=True,
    )


def test_sessions_are_the_proposals_in_their_order() -> None:
    states = [state("sit", 0.02), state("down", 0.05), state("hand-target", 0.01)]
    sessions = sessions_without_plan(states, now=NOW, n_sessions=4, age_weeks=9.0)
    proposed = propose_sessions(states, now=NOW, limit=4)
    assert [(one.behaviour, one.step) for one in sessions] == [(p.behaviour_key, p.step_key) for p in proposed]
    assert {(one.minutes, one.purpose) for one in sessions} == {(3, Purpose.TEACH)}


def test_none_are_left_when_the_day_is_full() -> None:
    assert sessions_without_plan([state("sit", 0.02)], now=NOW, n_sessions=0, age_weeks=9.0) == ()


def test_hold_takes_as_long_as_it_lasts() -> None:
    behaviour = CATALOGUE.behaviours["quiet-in-crate"]
    long = next(step for step in behaviour.steps if step.criterion.duration_s >= 600.0)
    one = GoalState(**{**vars(state("quiet-in-crate", 0.1)), "step": long.key})
    (session,) = sessions_without_plan([one], now=NOW, n_sessions=1, age_weeks=9.0)
    assert session.minutes * 60 >= long.criterion.duration_s
