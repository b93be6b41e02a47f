"""Raise, keep, lower or pause: what to do after the last trial.

The rule looks at the newest trials of the current run at the step (20 at most) and asks two questions of the
posterior: is it all but certain that the dog meets this step more than six times in ten (then raise), or probable
that it does not (then lower)? The two levels are set by exact dynamic programming: see `operating_characteristics`
in `sets_of_five` and docs/science/first-engine.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from functools import cache

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.training.belief import Belief, belief_from_counts, believe
from pupilage.core.training.evidence import Outcome, Trial
from pupilage.core.training.history import (
    EVIDENCE_TRIALS,
    evidence_of,
    live_session,
    require_history,
    require_step,
    run_at,
)
from pupilage.core.training.welfare import empty_pouch, pause_reason
from pupilage.core.words import Sentence, sentence

TOO_HARD = 0.60
"""A step met no more often than this is not ready to be raised."""

SURE_TO_RAISE = 0.975
SURE_TO_LOWER = 0.85
"""How probable it must be that the true chance is above TOO_HARD (raise) or below it (lower)."""

MIN_TRIALS = 5
MIN_TRIALS_TO_RAISE = 8
MISSES_IN_A_ROW = 3

FULL_HOLDS_TO_RAISE = 3
"""Holds that must have lasted the step's own duration: eight short ones say little about a long one."""


class Action(StrEnum):
    """What to do with the criterion. Stored values are fixed for good."""

    RAISE = "raise"
    KEEP = "keep"
    LOWER = "lower"
    PAUSE = "pause"


@dataclass(frozen=True)
class Decision:
    """What to do next: `step` is the key to practise next; `enough` is False while the trials are too few."""

    action: Action
    step: str
    reason: Sentence
    belief: Belief
    enough: bool


def decide(
    behaviour: Behaviour,
    step: str,
    trials: Sequence[Trial],
    *,
    session_id: str | None,
    now: datetime,
    pieces_left: int | None = None,
) -> Decision:
    """Return what to do after the last trial at this step.

    Parameters: trials, all of this dog and behaviour (probes are left out of the decision; order does not matter as
    long as their instants differ); session_id, the running session, or None when only the counts are in question;
    pieces_left in the pouch, None when nobody said.
    Raises: InvalidInput for an unknown step (it names those that exist), an instant without a zone, times that are
    no times, or fewer than 0 pieces.
    Checked in tests/external/test_decision_rule.py.
    """
    now = require_aware(now, "now")
    require_step(behaviour, step)
    if pieces_left is not None and not pieces_left >= 0:  # NaN fails too
        raise InvalidInput.of("pieces_left", "{given} pieces cannot be in a pouch; give 0 or more.", given=pieces_left)
    history = require_history(behaviour, trials)
    judged = judge_run(behaviour, step, run_at(step, history))
    next_step = require_step(behaviour, judged.step)
    if pieces_left == 0:
        return replace(judged, action=Action.PAUSE, reason=empty_pouch(next_step))
    session = live_session(history, session_id)
    reason = pause_reason(behaviour, history, session, now=now, next_step=next_step)
    return judged if reason is None else replace(judged, action=Action.PAUSE, reason=reason)


def judge_run(behaviour: Behaviour, step: str, run: Sequence[Trial]) -> Decision:
    """Return what the trials of the current run at this step say, without a look at the session's welfare."""
    evidence = evidence_of(run)
    belief = believe(evidence)
    action = judge_counts(belief.n_met, belief.n_missed + belief.n_helped, misses_in_a_row(evidence))
    if action is Action.RAISE:
        return _raise(behaviour, step, evidence, belief)
    if action is Action.LOWER:
        return _lower(behaviour, step, belief)
    return _keep(step, evidence, belief)


@cache
def judge_counts(n_met: int, n_not_met: int, n_misses_in_a_row: int) -> Action | None:
    """Return raise or lower, or None while the counts carry neither.

    Model: posterior Beta(0.5 + met, 0.5 + not met); raise when P(p >= 0.60) >= 0.975 and n >= 8 (8 of 8, 9 of 10,
    12 of 14, 15 of 18); lower when P(p < 0.60) >= 0.85 and n >= 5, or at 3 misses in a row.
    Over 20 trials it raises in 7 % at a true chance of 0.60, in 78 % at 0.85 and in 92 % at 0.90; checked in
    tests/external/test_decision_rule.py.
    """
    n = n_met + n_not_met
    if n_misses_in_a_row >= MISSES_IN_A_ROW:
        return Action.LOWER
    if n < MIN_TRIALS:
        return None
    p_good_enough = belief_from_counts(n_met, n_not_met).p_at_least(TOO_HARD)
    if n >= MIN_TRIALS_TO_RAISE and p_good_enough >= SURE_TO_RAISE:
        return Action.RAISE
    return Action.LOWER if 1.0 - p_good_enough >= SURE_TO_LOWER else None


def misses_in_a_row(evidence: Sequence[Trial]) -> int:
    """Return how many trials at the end were missed outright; a helped one ends the row, for the dog was paid."""
    n = 0
    for trial in reversed(evidence):
        if trial.outcome is not Outcome.MISSED:
            break
        n += 1
    return n


def _raise(behaviour: Behaviour, step: str, evidence: Sequence[Trial], belief: Belief) -> Decision:
    index = behaviour.step_index(step) or 0
    if index + 1 == len(behaviour.steps):
        reason = sentence(
            "{met} of the last {n} met at the last step: at the goal, keep it fresh.", met=belief.n_met, n=belief.n
        )
        return Decision(Action.KEEP, step, reason, belief, enough=True)
    duration_s = behaviour.steps[index].criterion.duration_s
    n_full = sum(held_for(trial, duration_s) for trial in evidence)
    if n_full < FULL_HOLDS_TO_RAISE:
        reason = sentence(
            "{met} of the last {n} met, but the full {duration:g} s only {full} of {need} times: stay, ask for longer.",
            met=belief.n_met,
            n=belief.n,
            duration=duration_s,
            full=n_full,
            need=FULL_HOLDS_TO_RAISE,
        )
        return Decision(Action.KEEP, step, reason, belief, enough=True)
    reason = sentence("{met} of the last {n} met: sure enough to raise.", met=belief.n_met, n=belief.n)
    return Decision(Action.RAISE, behaviour.steps[index + 1].key, reason, belief, enough=True)


def held_for(trial: Trial, duration_s: float) -> bool:
    """Say whether a met trial lasted the duration; one without a timed hold was judged by the criterion itself."""
    return trial.outcome is Outcome.MET and (trial.hold is None or trial.hold.held_s >= duration_s)


def _lower(behaviour: Behaviour, step: str, belief: Belief) -> Decision:
    index = behaviour.step_index(step) or 0
    if index == 0:
        reason = sentence(
            "{met} of the last {n} met at the first step: stop, and begin again with more help or in a calmer place.",
            met=belief.n_met,
            n=belief.n,
        )
        return Decision(Action.PAUSE, step, reason, belief, enough=True)
    reason = sentence("{met} of the last {n} met: too hard for now, go back a step.", met=belief.n_met, n=belief.n)
    return Decision(Action.LOWER, behaviour.steps[index - 1].key, reason, belief, enough=True)


def _keep(step: str, evidence: Sequence[Trial], belief: Belief) -> Decision:
    if belief.n < MIN_TRIALS:
        reason = sentence("Not enough yet: has {n} of {need} trials at this step.", n=belief.n, need=MIN_TRIALS)
        return Decision(Action.KEEP, step, reason, belief, enough=False)
    more = n_met_to_raise(evidence)
    if more == 1:
        reason = sentence(
            "{met} of the last {n} met: stay here, one more met and it can be raised.", met=belief.n_met, n=belief.n
        )
    else:
        reason = sentence(
            "{met} of the last {n} met: stay here, {more} more met in a row and it can be raised.",
            met=belief.n_met,
            n=belief.n,
            more=more,
        )
    return Decision(Action.KEEP, step, reason, belief, enough=True)


def n_met_to_raise(evidence: Sequence[Trial]) -> int:
    """Return how many more trials, all met, would carry a raise (the oldest trials drop out as new ones come)."""
    met = [trial.outcome is Outcome.MET for trial in evidence]
    for more in range(1, EVIDENCE_TRIALS + 1):
        window = [*met, *[True] * more][-EVIDENCE_TRIALS:]
        if judge_counts(sum(window), len(window) - sum(window), 0) is Action.RAISE:
            return more
    return EVIDENCE_TRIALS
