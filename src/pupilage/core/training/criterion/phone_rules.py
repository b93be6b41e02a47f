"""What a phone on its own decides by: the figures of the rules that need no grid, and what they say.

The phone takes these along and reckons with them, so that a limit stands in one place. Where its table
(`session_table`) ends, the run's own counts decide (`judge_by_counts`), and the sentence says so.
"""

from dataclasses import dataclass
from typing import Any

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.criterion import advice, holds, pace, sequential, watching, welfare
from pupilage.core.training.criterion.advice import Action, Counts
from pupilage.core.words import Sentence, sentence

SAYS = {
    "raise": sentence("{met} of {n} met: raise, by the counts of this run alone."),
}


@dataclass(frozen=True)
class CountsAdvice:
    """What the counts of a run say by themselves: the action, the place of the step it leads to, and why."""

    action: Action
    step: int
    reason: Sentence


def judge_by_counts(behaviour: Behaviour, step: int, counts: Counts, *, goal: int) -> CountsAdvice:
    """Return the advice on a run from its counts alone, for where the grid cannot be asked.

    Model: as `advice.advise` without grid and values: lower at 3 misses in a row or at the sequential test's lower
    limit, nothing before 5 tries, raise at its upper limit (of holds, with 3 of full length), never beyond the goal.
    Parameters: step, goal, places (0-based). How often it errs: see `advice.judge_counts`.
    """
    n_full = counts.n_met - counts.n_short
    if counts.misses_in_a_row >= advice.MISSES_IN_A_ROW or (counts.n and counts.log_ratio <= sequential.LOWER):
        return _lower(step, counts)
    if counts.n < advice.MIN_TRIALS:
        return CountsAdvice(Action.KEEP, step, advice.SAYS["too_few"].of(n=counts.n, need=advice.MIN_TRIALS))
    if step >= goal or step + 1 == len(behaviour.steps):
        return CountsAdvice(Action.KEEP, step, advice.SAYS["at_goal"].of(met=counts.n_met, n=counts.n))
    if counts.log_ratio < sequential.UPPER:
        return CountsAdvice(Action.KEEP, step, advice.until_sure(counts))
    if counts.n_short and n_full < advice.FULL_HOLDS_TO_RAISE:
        need = advice.FULL_HOLDS_TO_RAISE
        reason = advice.SAYS["short"].of(met=counts.n_met, n=counts.n, full=n_full, need=need)
        return CountsAdvice(Action.KEEP, step, reason)
    return CountsAdvice(Action.RAISE, step + 1, SAYS["raise"].of(met=counts.n_met, n=counts.n))


def _lower(step: int, counts: Counts) -> CountsAdvice:
    if step == 0:
        reason = advice.SAYS["first_step"].of(met=counts.n_met, n=counts.n)
        return CountsAdvice(Action.PAUSE, 0, reason)
    if counts.misses_in_a_row >= advice.MISSES_IN_A_ROW:
        return CountsAdvice(Action.LOWER, step - 1, advice.SAYS["misses"].of(n=counts.misses_in_a_row))
    return CountsAdvice(Action.LOWER, step - 1, advice.SAYS["too_hard"].of(met=counts.n_met, n=counts.n))


def phone_figures() -> dict[str, dict[str, Any]]:
    """Return every figure that the phone's rules read, by rule. Times in seconds."""
    return {
        "counts": {
            "per_met": sequential.PER_MET,
            "per_miss": sequential.PER_MISS,
            "upper": sequential.UPPER,
            "lower": sequential.LOWER,
            "min_trials": advice.MIN_TRIALS,
            "misses_in_a_row": advice.MISSES_IN_A_ROW,
            "full_holds": advice.FULL_HOLDS_TO_RAISE,
        },
        "pause": {
            "trials": welfare.MAX_SESSION_TRIALS,
            "session_s": welfare.MAX_SESSION.total_seconds(),
            "live_within_s": welfare.LIVE_WITHIN.total_seconds(),
            "rate_trials": welfare.RATE_TRIALS,
            "rate_fall": welfare.RATE_FALL,
            "latency_trials": welfare.LATENCY_TRIALS,
            "latency_rise": welfare.LATENCY_RISE,
            "latency_rise_s": welfare.LATENCY_RISE_S,
            "min_span_s": pace.MIN_SPAN_S,
        },
        "hold": {
            "prior_breaks": holds.PRIOR_BREAKS,
            "prior_share": holds.PRIOR_EXPOSURE_SHARE,
            "recent": holds.RECENT_HOLDS,
            "middle": holds.MIDDLE,
            "least": holds.LEAST,
            "beyond_criterion": holds.BEYOND_CRITERION,
            "beyond_best": holds.BEYOND_BEST,
            "after_break": holds.AFTER_BREAK,
            "min_s": holds.MIN_TARGET_S,
            "multiples": [holds.multiple(n) for n in range(holds.LIST_TERMS)],
        },
        "watch": {
            "signs_easier": watching.SIGNS_EASIER,
            "signs_end": watching.SIGNS_END,
            "mouth_break": watching.MOUTH_BREAK,
            "mouth_broken": watching.MOUTH_BROKEN,
            "mouth_rough": watching.MOUTH_ROUGH,
            "n_rough": watching.N_ROUGH,
            "mouths_read": watching.MOUTHS_READ,
            "lately": watching.LATELY,
            "before": watching.BEFORE,
            "misses_lately": watching.MISSES_LATELY,
            "misses_before": watching.MISSES_BEFORE,
            "latencies": watching.LATENCIES,
            "latencies_before": watching.LATENCIES_BEFORE,
            "slower": watching.SLOWER,
            "slower_s": watching.SLOWER_S,
            "pace_fall": watching.PACE_FALL,
            "order": [one.value for one in watching.Suggestion],
        },
    }


def phone_sentences() -> dict[str, dict[str, Sentence]]:
    """Return what the phone's rules say, by rule; figures stand in their places as `format` writes them."""
    return {
        "counts": {**advice.SAYS, **SAYS},
        "pause": dict(welfare.SAYS),
        "hold": dict(holds.SAYS),
        "watch": dict(watching.SAYS),
    }
