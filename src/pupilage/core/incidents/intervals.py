"""Paying for a stretch without the unwanted behaviour: how long the stretch is, and when it grows or shrinks."""

import math
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.rates import Tally
from pupilage.core.words import Sentence, sentence

BELOW_MEAN = 0.8
"""The first interval beside the mean time between two responses, so that pay is frequent at first."""

GROWTH = 1.15
MET_TO_GROW = 3
SHRINK = 0.6
SHORTEST_S = 5.0


@dataclass(frozen=True)
class PaidInterval:
    """The stretch to be paid, in seconds, and why it is so long."""

    seconds: float
    reason: Sentence


def first_interval(baseline: Tally) -> PaidInterval:
    """Return the interval to begin with, from a baseline of n responses in `exposure` minutes.

    Model: 0.8 × (minutes ÷ responses). Twelve responses in 30 minutes: 2.5 minutes between two, so two minutes.
    Raises: InvalidInput for a baseline without a response: there is nothing to pay the absence of.
    Source: at or below the mean inter-response time of the baseline: Repp, Felce & Barton (1991), J. Appl. Behav.
    Anal. 24, 409-417 (from memory); the share of 0.8 is common practice, no source.
    """
    if baseline.n == 0:
        raise InvalidInput.of(
            "baseline",
            "It did not happen in {minutes:.0f} minutes; there is no interval to pay.",
            minutes=baseline.exposure,
        )
    between_s = 60.0 * baseline.exposure / baseline.n
    return PaidInterval(
        max(SHORTEST_S, BELOW_MEAN * between_s),
        sentence("It came every {s:.0f} s on average; begin a little below that.", s=between_s),
    )


def next_interval(current_s: float, run: int) -> PaidInterval:
    """Return the interval after one that was met or not.

    Parameters: current_s above 0; run: intervals in a row that passed without the behaviour, 0 when it came.
    Model: × 1.15 after every third in a row, × 0.6 when it came, never below 5 s. Common practice: 10 to 20 % longer,
    shorter when the pup fails; the figures are assumptions.
    """
    if not (math.isfinite(current_s) and current_s > 0.0):
        raise InvalidInput.of("current_s", "{given} s is no interval; give seconds above 0.", given=current_s)
    if run == 0:
        return PaidInterval(max(SHORTEST_S, SHRINK * current_s), sentence("It came: shorter, so that the pup can win."))
    if run % MET_TO_GROW == 0:
        return PaidInterval(GROWTH * current_s, sentence("{n} in a row: a little longer.", n=run))
    return PaidInterval(current_s, sentence("{n} in a row: the same again.", n=run))
