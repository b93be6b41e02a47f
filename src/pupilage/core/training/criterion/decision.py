"""Raise, keep, lower or pause: what to do after the last trial, from all that is known of the dog."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day, require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action, Advice, Counts, advise, count
from pupilage.core.training.criterion.welfare import empty_pouch, pause_reason
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import Reading
from pupilage.core.training.record.evidence import Outcome, Trial
from pupilage.core.training.record.history import live_session, require_step, run_at
from pupilage.core.training.worth.session_values import SessionWorth, worth_of_a_session
from pupilage.core.words import Sentence

DAYS_AHEAD = 14
"""How far ahead a decision looks where no hand-over is known."""

PRICE = 0.022
"""What a session is taken to add elsewhere, in chance of a goal, where steps of one behaviour are weighed."""

__all__ = ["Action", "Decision", "decide", "judge_run"]


@dataclass(frozen=True)
class Decision:
    """What to do next: `step` is the key to practise next; `enough` is False while the trials are too few.

    reading: the chance of the next trial at the step in practice; dimension: what a raise asks more of, what a lower
    eases, None for the others.
    """

    action: Action
    step: str
    reason: Sentence
    reading: Reading
    enough: bool
    dimension: Dimension | None = None


def decide(
    behaviour: Behaviour,
    step: str,
    known: Knowledge,
    *,
    session_id: str | None,
    now: datetime,
    pieces_left: int | None = None,
    target: str | None = None,
    days_left: int = DAYS_AHEAD,
) -> Decision:
    """Return what to do after the last trial at this step.

    Parameters: known, of this dog; session_id, the running session, or None when only the criterion is in question;
    pieces_left in the pouch, None when nobody said; target, the goal's step, by default the behaviour's own; days_left
    before the hand-over, 0 or more.
    Raises: InvalidInput for an unknown step (it names those that exist), an instant without a zone, or fewer than 0
    pieces.
    Checked in tests/unit/training/test_decision.py, and by enumeration and simulation in test_advice.py.
    """
    now = require_aware(now, "now")
    require_step(behaviour, step)
    if pieces_left is not None and not pieces_left >= 0:  # NaN fails too
        raise InvalidInput.of("pieces_left", "{given} pieces cannot be in a pouch; give 0 or more.", given=pieces_left)
    advice = judge_run(behaviour, step, known, now=now, target=target, days_left=days_left)
    next_step = behaviour.steps[advice.step]
    if pieces_left == 0:
        return _decision(behaviour, advice, Action.PAUSE, empty_pouch(next_step))
    history = known.of(behaviour.key)
    session = live_session(history, session_id)
    # A phone whose clock is ahead writes tries that lie ahead of ours: a session lasts until its newest one at least.
    until = max([now, *(trial.at for trial in session[-1:])])
    reason = pause_reason(behaviour, history, session, now=until, next_step=next_step)
    if reason is None:
        return _decision(behaviour, advice, advice.action, advice.reason)
    return _decision(behaviour, advice, Action.PAUSE, reason)


def _decision(behaviour: Behaviour, advice: Advice, action: Action, reason: Sentence) -> Decision:
    step = behaviour.steps[advice.step].key
    return Decision(action, step, reason, advice.reading, advice.enough, advice.dimension)


def judge_run(
    behaviour: Behaviour,
    step: str,
    known: Knowledge,
    *,
    now: datetime,
    target: str | None = None,
    days_left: int = DAYS_AHEAD,
) -> Advice:
    """Return the advice on the current run at the step, without a look at the session's welfare."""
    place = behaviour.step_index(require_step(behaviour, step).key) or 0
    goal = require_step(behaviour, behaviour.target if target is None else target, "target").key
    counts = count_run(run_at(step, known.of(behaviour.key)), behaviour.steps[place].criterion.duration_s)
    worth = session_worth(behaviour, known, now=now, target=goal, days_left=days_left)
    values = worth.by_step if days_left else None
    moment = known.at(behaviour.key, now)
    return advise(behaviour, place, moment, counts, values=values, goal=behaviour.step_index(goal))


def session_worth(
    behaviour: Behaviour, known: Knowledge, *, now: datetime, target: str, days_left: int, price: float = PRICE
) -> SessionWorth:
    """Return what one more session of a behaviour adds today, by step; see `session_values.worth_of_a_session`."""
    return known.keep(
        ("worth", behaviour.key, target, days_left, price, local_day(now, known.state.zone)),
        lambda: worth_of_a_session(known, behaviour, target_step=target, days_left=days_left, price=price, now=now),
    )


def count_run(run: Sequence[Trial], duration_s: float) -> Counts:
    """Return the counts of a run at a step of this duration; void trials are no evidence."""
    return count(run_letters(run, duration_s))


def run_letters(run: Sequence[Trial], duration_s: float) -> list[str]:
    """Return one letter a trial, as `advice.Counts.after` reads them; none for void ones."""
    return [_letter(trial, duration_s) for trial in run if trial.outcome is not Outcome.VOID]


def _letter(trial: Trial, duration_s: float) -> str:
    if trial.outcome is Outcome.MET:
        return "m" if held_for(trial, duration_s) else "s"
    return "x" if trial.outcome is Outcome.MISSED else "h"


def held_for(trial: Trial, duration_s: float) -> bool:
    """Say whether a met trial lasted the duration; one without a timed hold was judged by the criterion itself."""
    return trial.outcome is Outcome.MET and (trial.hold is None or trial.hold.held_s >= duration_s)
