"""The chance that a goal is met on the hand-over day: 8 of 10 at the target step, in a cold test."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day, require_aware
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.outlook.chances import CEILING, Outlook, chance_with, look_ahead, require_sessions
from pupilage.core.training.outlook.course import Sessions
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.history import require_step, training_of
from pupilage.core.words import Sentence, sentence

MIN_SESSIONS = 3
MIN_TRIALS_AT_TARGET = 10
MIN_COLD_TRIALS = 5
"""What a forecast needs: three sessions, or ten trials at the target, or five cold ones before any training. With
less it would be our prior, which no dog has been measured for."""


@dataclass(frozen=True)
class Forecast:
    """The chance `p` of the goal, None while the data cannot carry it (then `have` of `need` sessions are there).

    low, high: the chance for the fifth of the dogs still possible that learn slowest, and quickest.
    without_work, one_more_a_day: under no further session, and one more on every day. ceiling: of a dog that meets
    nine in ten. steps_to_go: raises needed before practice is at the target step.
    """

    p: float | None
    low: float | None
    high: float | None
    without_work: float | None
    one_more_a_day: float | None
    have: int
    need: int
    steps_to_go: int
    reason: Sentence
    ceiling: float = CEILING


def forecast(
    behaviour: Behaviour,
    target_step: str,
    known: Knowledge,
    *,
    now: datetime,
    sessions: Sessions,
    compare: bool = True,
) -> Forecast:
    """Return the chance that at least 8 of 10 trials are met at the target step on the hand-over day.

    Model: `outlook.look_ahead` from the grid of this dog.
    Parameters: known, of this dog; sessions, of this behaviour on each day from today to the day before the hand-over;
    compare, whether to say also what less and more work would do, which takes three times as long.
    Raises: InvalidInput for an unknown step, fewer than 0 sessions, or an instant without a zone.
    Checked by simulation in tests/unit/training/test_outlook.py and test_forecast.py.
    """
    now = require_aware(now, "now")
    require_step(behaviour, target_step, "target_step")
    require_sessions(sessions)
    target = behaviour.step_index(target_step) or 0
    place = (
        behaviour.step_index(current_step(behaviour, known, now=now, target=target_step, days_left=sessions.n_days))
        or 0
    )
    history = known.of(behaviour.key)
    n_sessions = len({trial.session_id for trial in training_of(history)})
    to_go = max(0, target - place)
    empty = Forecast(None, None, None, None, None, n_sessions, MIN_SESSIONS, to_go, _too_few(n_sessions))
    if not _carries_a_forecast(behaviour, target, history, n_sessions):
        return empty
    now_known, day = known.at(behaviour.key, now), local_day(now, known.state.zone)
    if not compare:
        p = known.keep(
            ("chance", behaviour.key, place, target, sessions, day),
            lambda: chance_with(now_known, step=place, target=target, sessions=sessions),
        )
        return replace(
            empty, p=p, reason=sentence("Steps to go: {steps}, sessions left: {left}.", steps=to_go, left=sessions.n)
        )
    outlook = known.keep(
        ("outlook", behaviour.key, place, target, sessions, day),
        lambda: look_ahead(now_known, step=place, target=target, sessions=sessions),
    )
    return replace(
        empty,
        p=outlook.planned,
        low=outlook.low,
        high=outlook.high,
        without_work=outlook.without_work,
        one_more_a_day=outlook.one_more_a_day,
        reason=_reason(outlook, to_go, sessions),
    )


def _carries_a_forecast(behaviour: Behaviour, target: int, history: Sequence[Trial], n_sessions: int) -> bool:
    beyond = {step.key for step in behaviour.steps[target:]}
    at_target = [t for t in history if t.step in beyond and t.outcome is not Outcome.VOID]
    if n_sessions == 0:
        return len(at_target) >= MIN_COLD_TRIALS
    n_taught = sum(trial.kind is SessionKind.TRAINING for trial in at_target)
    return n_sessions >= MIN_SESSIONS or n_taught >= MIN_TRIALS_AT_TARGET


def _too_few(n_sessions: int) -> Sentence:
    return sentence("Not enough yet: has {have} of {need} sessions.", have=n_sessions, need=MIN_SESSIONS)


def _reason(outlook: Outlook, steps_to_go: int, sessions: Sessions) -> Sentence:
    if sessions.n == 0 and sessions.n_days > 0:
        return sentence("The plan gives it no session; with one a day {more:.0%}.", more=outlook.one_more_a_day)
    if sessions.n == 0:
        return sentence("No session is left before the hand-over: this is how a cold test would go on the day.")
    if steps_to_go == 0:
        return sentence(
            "At the goal's step. Sessions left: {left}; without another one {without:.0%}, with one a day more"
            " {more:.0%}.",
            left=sessions.n,
            without=outlook.without_work,
            more=outlook.one_more_a_day,
        )
    return sentence(
        "Steps to go: {steps}, sessions left: {left}. Without another session {without:.0%}, with one a day more"
        " {more:.0%}.",
        steps=steps_to_go,
        left=sessions.n,
        without=outlook.without_work,
        more=outlook.one_more_a_day,
    )
