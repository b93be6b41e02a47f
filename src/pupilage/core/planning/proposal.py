"""What to train next: a short list with reasons, by what a session is worth.

The index of a behaviour is what one more session today adds to the chance of its goal, times the goal's weight. A goal
that the plan leaves out comes last.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.sharing import Share
from pupilage.core.training.record.history import require_step
from pupilage.core.words import Sentence, sentence

MAX_SESSIONS_A_DAY = 2
"""Sessions of one behaviour in a day. Single sessions taught better than three in a row (Demant et al., 2011, Appl.
Anim. Behav. Sci.); two with a rest between are common practice."""

SECOND_TODAY = 0.5
"""What the second of two sessions proposed at once counts; one that has been held is in the gain already."""

LEFT_OUT = 0.1
"""What a session of a goal that the plan leaves out counts, beside one that is planned."""

WORTH_OF_UPKEEP = 0.03
"""Chance that one session keeps, of a behaviour at its goal that is due (an assumption)."""


@dataclass(frozen=True)
class GoalState:
    """A goal and where it stands. step, target: keys of steps; p_ready: chance of the goal, None when not known.

    weight is 1 or more; share, its part of the plan; gain, weight × chance that a session today adds; opens, the gain
    of another goal that waits for this one; last_trained_at is aware, None before the first session; due_in_days, the
    days until practice is due again, None where only the behaviour's own interval is known.
    """

    behaviour: Behaviour
    step: str
    target: str
    weight: int
    share: Share
    gain: float
    p_ready: float | None
    last_trained_at: datetime | None
    n_sessions_today: int
    prerequisites_met: bool
    old_enough: bool
    due_in_days: int | None = None
    opens: float = 0.0

    @property
    def at_target(self) -> bool:
        """Whether practice has come to the target step or beyond."""
        return (self.behaviour.step_index(self.step) or 0) >= (self.behaviour.step_index(self.target) or 0)


@dataclass(frozen=True)
class Proposal:
    """A session to hold next, and why."""

    behaviour_key: str
    step_key: str
    reason: Sentence


@dataclass(frozen=True)
class _Scored:
    state: GoalState
    index: float
    reason: Sentence


def propose_sessions(states: Sequence[GoalState], *, now: datetime, limit: int = 3) -> list[Proposal]:
    """Return at most `limit` sessions to hold next, in order, the most useful first.

    Left out: behaviours for which the pup is too young or a prerequisite is missing, those that have had two
    sessions today, and those at their target that the plan gives no session and that are not due for upkeep. The same
    behaviour never stands twice in a row, and the one trained last today does not come first when there is another.
    Ties keep the order of `states`.
    Raises: InvalidInput for unknown steps, chances outside 0 to 1, or instants without a zone.
    """
    now = require_aware(now, "now")
    _require_states(states)
    scored = [found for state in states if _may_train(state) and (found := _score(state, now)) is not None]
    chosen: list[_Scored] = []
    last = _trained_last_today(states) if len(scored) > 1 else None
    while len(chosen) < limit:
        open_ones = [one for one in scored if one.state.behaviour.key != last and _has_room(one, chosen)]
        if not open_ones:
            break
        best = max(open_ones, key=lambda one: one.index * SECOND_TODAY ** chosen.count(one))
        chosen.append(best)
        last = best.state.behaviour.key
    return [Proposal(one.state.behaviour.key, one.state.step, one.reason) for one in chosen]


def _has_room(one: _Scored, chosen: list[_Scored]) -> bool:
    return one.state.n_sessions_today + chosen.count(one) < MAX_SESSIONS_A_DAY


def _may_train(state: GoalState) -> bool:
    return state.old_enough and state.prerequisites_met and state.n_sessions_today < MAX_SESSIONS_A_DAY


def _score(state: GoalState, now: datetime) -> _Scored | None:
    """Return the state with its index and reason, or None when it needs no session now."""
    if state.last_trained_at is None:
        return _Scored(state, _index(state), _reason_to_begin(state))
    days = (now - require_aware(state.last_trained_at, "last_trained_at")) / timedelta(days=1)
    if state.at_target and (days >= state.behaviour.maintain_every_days or state.due_in_days == 0):
        reason = sentence("At its goal, last trained {days:.0f} days ago: due again.", days=days)
        return _Scored(state, max(_index(state), state.weight * WORTH_OF_UPKEEP), reason)
    if state.at_target and state.share.n_sessions == 0:
        return None
    return _Scored(state, _index(state), _reason(state))


def _index(state: GoalState) -> float:
    own = state.gain * (LEFT_OUT if state.share.n_sessions == 0 else 1.0)
    return max(own, state.opens)


def _reason_to_begin(state: GoalState) -> Sentence:
    if state.share.n_sessions == 0:
        return _reason(state)
    return sentence("Not trained yet: begin. Sessions planned: {n}.", n=state.share.n_sessions)


def _reason(state: GoalState) -> Sentence:
    share = state.share
    if state.opens > state.gain:
        return sentence("Another goal waits until this one is met.")
    if share.is_left_out:
        return sentence(
            "Not in the plan: with all the sessions it can have, the goal would be met with {p:.0%}.", p=share.p_most
        )
    if share.n_sessions == 0:
        return sentence("The plan gives it no more sessions; without one {p:.0%}.", p=share.p_without)
    if state.p_ready is None:
        return sentence("Too few sessions yet to say whether the goal will be met.")
    return sentence(
        "Sessions planned: {n}. They lift the chance at the hand-over from {without:.0%} to {p:.0%}.",
        n=share.n_sessions,
        without=share.p_without,
        p=share.p_with,
    )


def _trained_last_today(states: Sequence[GoalState]) -> str | None:
    """Return the key of the behaviour trained last today, or None when none was."""
    trained = [
        (state.last_trained_at, state.behaviour.key)
        for state in states
        if state.n_sessions_today and state.last_trained_at is not None
    ]
    return max(trained)[1] if trained else None


def _require_states(states: Sequence[GoalState]) -> None:
    problems: list[Problem] = []
    for state in states:
        require_step(state.behaviour, state.step)
        require_step(state.behaviour, state.target, "target")
        if state.last_trained_at is not None:
            require_aware(state.last_trained_at, "last_trained_at")
        if state.p_ready is not None and not 0.0 <= state.p_ready <= 1.0:
            problems.append(Problem("p_ready", "{p} is no chance; give one between 0 and 1.", p=state.p_ready))
        if not state.weight >= 1:
            problems.append(
                Problem("weight", "A goal's weight of {weight} cannot be; give 1 or more.", weight=state.weight)
            )
    if problems:
        raise InvalidInput(problems)
