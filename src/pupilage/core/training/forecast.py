"""The chance that a goal is met on the hand-over day: 8 of 10 at the target step, in a cold test.

A first, simple model. What it assumes and what it cannot know stands in docs/science/first-engine.md: it knows no
forgetting, no day on which everything goes badly, and gives later steps the pace of the earlier ones.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise, takewhile

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.training.belief import chance_of_at_least, log_choose
from pupilage.core.training.decision import held_for
from pupilage.core.training.evidence import SessionKind, Trial
from pupilage.core.training.history import (
    evidence_of,
    require_history,
    require_step,
)
from pupilage.core.training.standing import standing_step
from pupilage.core.words import Sentence, sentence

TEST_TRIALS = 10
TEST_MET = 8
"""The test on the hand-over day."""

MIN_SESSIONS = 3
MIN_TRIALS_AT_TARGET = 10
MIN_COLD_TRIALS = 5
"""What a forecast needs: three sessions, or ten trials at the target, or five cold ones before any training."""

PACE_ALPHA = 1.0
PACE_BETA = 1.0
"""Prior for the chance that a session gains a step: any pace is as likely as any other."""

FRESH_ALPHA = 2.0
FRESH_BETA = 1.0
"""Prior for a step just reached: met about two times in three. An assumption, common practice."""

P_ESTABLISHED = 0.82
"""Chance of 8 of 10 at a step that our rule would raise: P(8 of 10 | p) averaged over p ~ Beta(2, 1), weighted by
how often the rule raises at p. Recomputed in tests/external/test_forecast.py."""

QUANTILES = (0.05, 0.95)


@dataclass(frozen=True)
class Forecast:
    """The chance `p` of the goal, None while the data cannot carry it (then `have` of `need` sessions are there).

    low, high: the chance if the pace were as slow, or as quick, as the sessions so far still allow (90 %).
    steps_to_go: raises needed before practice is at the target step.
    """

    p: float | None
    low: float | None
    high: float | None
    have: int
    need: int
    steps_to_go: int
    reason: Sentence


@dataclass(frozen=True)
class Pace:
    """How many of the sessions gained a step, and how many did not; the newest counts only if it did."""

    n_gained: int
    n_without: int

    @property
    def alpha(self) -> float:
        return PACE_ALPHA + self.n_gained

    @property
    def beta(self) -> float:
        return PACE_BETA + self.n_without

    def quantile(self, q: float) -> float:
        from scipy.special import betaincinv

        return float(betaincinv(self.alpha, self.beta, q))


def forecast(
    behaviour: Behaviour, target_step: str, trials: Sequence[Trial], *, now: datetime, sessions_left: int
) -> Forecast:
    """Return the chance that at least 8 of 10 trials are met at the target step on the hand-over day.

    Model: k raises to go; each session left gains a step with chance q ~ Beta(1 + gained, 1 + without), so the
    number of gains G is beta-binomial. P = P(G = k) c + P(G > k) max(c, e): c is the beta-binomial chance of 8 of
    10 under Beta(2 + met, 1 + not met), from the newest trials at the target step or beyond, and e = P_ESTABLISHED
    the chance at a step the rule would raise. Probes count only before any training.
    Parameters: trials, all of this dog and behaviour; sessions_left of this behaviour before the day, 0 or more.
    Raises: InvalidInput for an unknown step, fewer than 0 sessions, or as `history.require_history`.
    Assumes: at most one step gained in a session; sessions alike; nothing is forgotten.
    Never lowered by one more met in the newest session, nor by one more session left
    (tests/property/test_engine_forecast.py).
    """
    require_aware(now, "now")
    require_step(behaviour, target_step, "target_step")
    if not sessions_left >= 0:
        raise InvalidInput.of("sessions_left", "{given} sessions cannot be left; give 0 or more.", given=sessions_left)
    history = require_history(behaviour, trials)
    at = _Position.of(behaviour, target_step, history)
    if not at.carries_a_forecast:
        return _not_enough(at)
    p = _chance_over_pace(at, sessions_left)
    ends = [p, *(_chance_at_pace(at, sessions_left, at.pace.quantile(q)) for q in QUANTILES)]
    return Forecast(p, min(ends), max(ends), at.n_sessions, MIN_SESSIONS, at.steps_to_go, _reason(at, sessions_left))


@dataclass(frozen=True)
class _Position:
    """Where the behaviour stands on its way to the target."""

    steps_to_go: int
    n_sessions: int
    pace: Pace
    n_met: int
    n_not_met: int

    @classmethod
    def of(cls, behaviour: Behaviour, target: str, history: Sequence[Trial]) -> "_Position":
        index = {step.key: i for i, step in enumerate(behaviour.steps)}
        goal = index[target]
        known = [(index[trial.step], trial) for trial in history if trial.step in index]
        training = [(i, trial) for i, trial in known if trial.kind is SessionKind.TRAINING]
        # A lower counts once practice has gone back: else a fifth trial, met, could lower the chance.
        stands = max([index[standing_step(behaviour, history)], *(i for i, _ in training[-1:])])
        met = _met_at_target(goal, behaviour.steps[goal].criterion.duration_s, training or known)
        sessions = _steps_by_session(training)
        return cls(max(0, goal - stands), len(sessions), pace_of(sessions, stands), sum(met), len(met) - sum(met))

    @property
    def n_at_target(self) -> int:
        return self.n_met + self.n_not_met

    @property
    def carries_a_forecast(self) -> bool:
        if self.n_sessions == 0:
            return self.n_at_target >= MIN_COLD_TRIALS
        return self.n_sessions >= MIN_SESSIONS or self.n_at_target >= MIN_TRIALS_AT_TARGET

    @property
    def p_test(self) -> float:
        """Chance of the test as things stand, were practice at the target step."""
        return chance_of_at_least(
            TEST_MET, TEST_TRIALS, alpha=FRESH_ALPHA + self.n_met, beta=FRESH_BETA + self.n_not_met
        )


def _met_at_target(goal: int, duration_s: float, trials: Sequence[tuple[int, Trial]]) -> list[bool]:
    """Return met or not for the newest trials, as long as they were at the target step (index `goal`) or beyond.

    A hold that was released before the target's duration says nothing either way, and is left out.
    """
    newest = [trial for _, trial in takewhile(lambda at: at[0] >= goal, reversed(trials))]
    counted = [t for t in reversed(newest) if t.hold is None or t.hold.broke or t.hold.held_s >= duration_s]
    return [held_for(trial, duration_s) for trial in evidence_of(counted)]


def _steps_by_session(trials: Iterable[tuple[int, Trial]]) -> list[list[int]]:
    """Return the step index of every trial, by session, in the order in which the sessions began."""
    sessions: dict[str, list[int]] = {}
    for i, trial in trials:
        sessions.setdefault(trial.session_id, []).append(i)
    return list(sessions.values())


def pace_of(sessions: Sequence[Sequence[int]], standing: int) -> Pace:
    """Return how many sessions brought practice to a step it had not been at before.

    sessions: the step index of each trial, one row a session. Between two sessions practice stands at the higher of
    one's end and the next one's start, after the newest at index `standing`. The newest is not over: it counts when
    it gained a step, else not yet.
    """
    if not sessions:
        return Pace(0, 0)
    stands = [max(here[-1], after[0]) for here, after in pairwise(sessions)]
    highest, gained = sessions[0][0], []
    for stand in [*stands, standing]:
        gained.append(stand > highest)
        highest = max(highest, stand)
    closed = gained if gained[-1] else gained[:-1]
    return Pace(sum(closed), len(closed) - sum(closed))


def _chance_over_pace(at: _Position, sessions_left: int) -> float:
    reached, beyond = (
        chance_of_at_least(k, sessions_left, alpha=at.pace.alpha, beta=at.pace.beta)
        for k in (at.steps_to_go, at.steps_to_go + 1)
    )
    return _chance(at, reached, beyond)


def _chance_at_pace(at: _Position, sessions_left: int, q: float) -> float:
    reached, beyond = (
        math.fsum(
            math.exp(log_choose(sessions_left, j) + j * math.log(q) + (sessions_left - j) * math.log1p(-q))
            for j in range(k, sessions_left + 1)
        )
        for k in (at.steps_to_go, at.steps_to_go + 1)
    )
    return _chance(at, reached, beyond)


def _chance(at: _Position, reached: float, beyond: float) -> float:
    """Mix the test's chance just after the target is reached with that after it is established there."""
    p_test = at.p_test
    return min(1.0, (reached - beyond) * p_test + beyond * max(p_test, P_ESTABLISHED))


def _not_enough(at: _Position) -> Forecast:
    reason = sentence(
        "Not enough yet: has {have} of {need} sessions, steps to go: {steps}.",
        have=at.n_sessions,
        need=MIN_SESSIONS,
        steps=at.steps_to_go,
    )
    return Forecast(None, None, None, at.n_sessions, MIN_SESSIONS, at.steps_to_go, reason)


def _reason(at: _Position, sessions_left: int) -> Sentence:
    if at.steps_to_go == 0:
        return sentence(
            "At the target step: {met} of {n} met there. Sessions left: {left}.",
            met=at.n_met,
            n=at.n_at_target,
            left=sessions_left,
        )
    return sentence(
        "Steps to go: {steps}, sessions left: {left}. Sessions that gained a step so far: {gained} of {have}.",
        steps=at.steps_to_go,
        left=sessions_left,
        gained=at.pace.n_gained,
        have=at.n_sessions,
    )
