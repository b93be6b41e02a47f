"""When a session should stop, whatever the counts say: length, pace, an empty pouch, two misses after a lower.

The limits are trade practice, not research (see docs/science/decision.md); a trainer who sees a tired pup stops
sooner.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import islice
from statistics import median

from pupilage.core.catalogue.behaviour import Behaviour, Scoring, Step
from pupilage.core.training.criterion.pace import rate_within
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.words import Sentence, sentence

MAX_SESSION_TRIALS = 15
"""Common practice: 10 to 15 trials for a young pup."""

MAX_SESSION = timedelta(minutes=5)
"""Common practice: 3 to 5 minutes at 12 to 20 weeks. Not asked of holds, which take their own time."""

LIVE_WITHIN = timedelta(minutes=10)
"""A session whose last trial is older than this is over, and there is nothing left to stop."""

RATE_TRIALS = 5
RATE_FALL = 1.0 / 3.0
"""The rate has fallen clearly when the last five trials earn a third or less of what the earlier ones did."""

LATENCY_TRIALS = 3
LATENCY_RISE = 2.0
LATENCY_RISE_S = 1.0
"""Latency has risen clearly when the median of the last three is twice the earlier one, and a second longer."""

SAYS = {
    "empty": sentence("The pouch is empty: stop here. Next time start at “{step}”."),
    "trials": sentence("{n} trials are enough for one session: stop on a good one. Next time start at “{step}”."),
    "minutes": sentence(
        "{minutes} minutes are enough for one session: stop on a good one. Next time start at “{step}”."
    ),
    "rate": sentence("Rewards fell from {before:.0f} to {lately:.0f} a minute: stop here and let the pup rest."),
    "latency": sentence(
        "The pup starts more slowly, {lately:.1f} s after {before:.1f} s before: stop here and let it rest."
    ),
    "after_lower": sentence("2 misses straight after going back a step: stop here, today is not the day for it."),
}


def pause_reason(
    behaviour: Behaviour,
    history: Sequence[Trial],
    session: Sequence[Trial],
    *,
    now: datetime,
    next_step: Step,
) -> Sentence | None:
    """Return why this session should stop now, or None.

    history: all trials in time order; session: the training trials of this session among them, void ones included.
    """
    if not session or now - session[-1].at > LIVE_WITHIN:
        return None
    return (
        missed_after_lower(behaviour, history, session)
        or _latency_rose(session)
        or _rate_fell(behaviour, session)
        or _ran_long(behaviour, session, now, next_step)
    )


def empty_pouch(next_step: Step) -> Sentence:
    """Return the sentence for a pouch with nothing in it."""
    return SAYS["empty"].of(step=next_step.summary)


def _ran_long(behaviour: Behaviour, session: Sequence[Trial], now: datetime, next_step: Step) -> Sentence | None:
    if len(session) >= MAX_SESSION_TRIALS:
        return SAYS["trials"].of(
            n=len(session),
            step=next_step.summary,
        )
    if behaviour.scoring is Scoring.TRIAL and now - session[0].at >= MAX_SESSION:
        return SAYS["minutes"].of(
            minutes=(now - session[0].at) // timedelta(minutes=1),
            step=next_step.summary,
        )
    return None


def _rate_fell(behaviour: Behaviour, session: Sequence[Trial]) -> Sentence | None:
    if behaviour.scoring is Scoring.HOLD or len(session) < 2 * RATE_TRIALS:
        return None
    before, lately = rate_within(session[:-RATE_TRIALS]), rate_within(session[-RATE_TRIALS - 1 :])
    if before is None or lately is None or lately > RATE_FALL * before:
        return None
    return SAYS["rate"].of(
        before=before,
        lately=lately,
    )


def _latency_rose(session: Sequence[Trial]) -> Sentence | None:
    latencies = [trial.latency_s for trial in session if trial.latency_s is not None]
    earlier, last = latencies[:-LATENCY_TRIALS], latencies[-LATENCY_TRIALS:]
    if len(earlier) < RATE_TRIALS:
        return None
    before, lately = median(earlier), median(last)
    if lately < LATENCY_RISE * before or lately - before < LATENCY_RISE_S:
        return None
    return SAYS["latency"].of(
        lately=lately,
        before=before,
    )


def missed_after_lower(behaviour: Behaviour, history: Sequence[Trial], session: Sequence[Trial]) -> Sentence | None:
    """Return why to stop when the first two tries at a step just gone back to were missed, or None."""
    counted = (
        trial for trial in reversed(history) if trial.kind is SessionKind.TRAINING and trial.outcome is not Outcome.VOID
    )
    newest = list(islice(counted, 3))[::-1]
    if len(newest) < 3 or newest[-2].session_id != session[-1].session_id:
        return None
    before, *tries = newest
    was, at = behaviour.step_index(before.step), behaviour.step_index(tries[0].step)
    if was is None or at is None or not at < was or tries[0].step != tries[1].step:
        return None
    if any(trial.outcome is not Outcome.MISSED for trial in tries):
        return None
    return SAYS["after_lower"]
