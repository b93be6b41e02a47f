"""The second dog's mat: when to pay it while it holds, and what its part of a session amounts to."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.interval_runs import TERMS, Spacing, interval_at, least_interval_s, multiples
from pupilage.core.training.record.fold import SessionRecord
from pupilage.core.training.record.mat import BreakCause
from pupilage.core.words import Sentence, sentence

BETWEEN_SHARE = 1.0 / 3.0
LEAST_MEAN_S = 2.0
MOST_MEAN_S = 60.0
N_INTERVALS = 24
"""Pays come on average after a third of what the dog is asked to hold, never more often than every 2 s nor more seldom
than every minute. Common practice, no source."""

OFTEN = 2


def mean_between_s(target_s: float) -> float:
    """Return the mean seconds between two pays for a dog that is asked to hold for `target_s` (0 or more).

    Raises: InvalidInput for a time that is none.
    """
    if not (math.isfinite(target_s) and target_s >= 0.0):
        raise InvalidInput.of("target_s", "{given} s is no duration; give seconds of 0 or more.", given=target_s)
    return min(MOST_MEAN_S, max(LEAST_MEAN_S, BETWEEN_SHARE * target_s))


def pay_intervals(target_s: float, seed: str) -> tuple[float, ...]:
    """Return the next 24 stretches between pays, in seconds, in the order in which they are timed.

    Model: a variable list around the mean (`interval_runs.interval_at`: Fleshler & Hoffman, 1962, twelve terms,
    shuffled by the digest of the seed): a restart and another phone go on with the same list. It does not end with
    the hold: the stretch in progress begins anew when the dog lies down again.
    """
    mean_s = mean_between_s(target_s)
    return tuple(interval_at(mean_s, Spacing.VARIABLE, seed, n) for n in range(N_INTERVALS))


def pay_multiples(seed: str) -> tuple[float, ...]:
    """Return the list of `pay_intervals` as multiples of its mean, for a phone that reckons the mean itself."""
    blocks = range(N_INTERVALS // TERMS)
    return tuple(multiple for block in blocks for multiple in multiples(Spacing.VARIABLE, seed, block))


def pay_figures() -> dict[str, float]:
    """Return the figures by which a phone makes a stretch out of a multiple (`payInterval` in deciding.js)."""
    return {
        "between_share": BETWEEN_SHARE,
        "least_mean_s": LEAST_MEAN_S,
        "most_mean_s": MOST_MEAN_S,
        "least_s": least_interval_s(Spacing.VARIABLE),
    }


@dataclass(frozen=True)
class MatSummary:
    """What the second dog did. Times in seconds; None where there was no hold, or no two pays in one.

    causes: how often each set a break off, the commonest first, breaks of which nobody said left out.
    """

    n_holds: int
    n_broke: int
    longest_s: float | None
    median_s: float | None
    n_paid: int
    pieces: int
    between_pays_s: float | None
    causes: tuple[tuple[BreakCause, int], ...]
    advice: Sentence | None


CAUSE_ADVICE: dict[BreakCause, Sentence] = {
    BreakCause.RELEASE_WORD: sentence(
        "Say the dog’s name before the release word, and pay the one that stays each time the other is released."
    ),
    BreakCause.EXCITEMENT: sentence("Work the other dog further away or more quietly, and pay the mat more often."),
    BreakCause.PUP_NEAR: sentence(
        "Keep the other dog at a greater distance, on a lead or behind a gate; pay the mat just before it comes past."
    ),
    BreakCause.SOMETHING_ELSE: sentence("Shorter holds on the mat until what set it off is known."),
}
"""Common practice, no source."""


def summarise_mat(record: SessionRecord) -> MatSummary:
    """Return the overview of a dog's holds in one session.

    Model: counts and medians of what was written; nothing is estimated here. Advice after a cause that set off two
    breaks or more, the commonest one.
    """
    holds = [trial.hold for trial in record.trials if trial.hold is not None]
    causes = Counter(cause for event, cause in record.causes.items())
    commonest = tuple(sorted(causes.items(), key=lambda one: (-one[1], list(BreakCause).index(one[0]))))
    often = commonest[0] if commonest and commonest[0][1] >= OFTEN else None
    gaps = _gaps(record)
    return MatSummary(
        n_holds=len(holds),
        n_broke=sum(hold.broke for hold in holds),
        longest_s=max((hold.held_s for hold in holds), default=None),
        median_s=median(hold.held_s for hold in holds) if holds else None,
        n_paid=len(record.pays),
        pieces=sum(pay.pieces for pay in record.pays) + sum(trial.pieces for trial in record.trials),
        between_pays_s=fmean(gaps) if gaps else None,
        causes=commonest,
        advice=None if often is None else CAUSE_ADVICE[often[0]],
    )


def _gaps(record: SessionRecord) -> Sequence[float]:
    """Return the seconds between two pays of the same hold."""
    pairs = zip(record.pays, record.pays[1:], strict=False)
    return [(later.at - one.at).total_seconds() for one, later in pairs if one.hold == later.hold]
