"""The lesson before the hand-over: the family's own tries beside the trainer's, and what they have done themselves."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.intervals import wilson
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.words import Sentence, sentence

NEWEST = 20
"""Of the trainer's tries at a step only the newest count: what a pup did weeks ago is not what it does today."""

LEAST = 5
"""Under five tries on either side nothing is said of a difference."""


@dataclass(frozen=True)
class Carried:
    """A step with the family beside the trainer: met of tries each; difference: family less trainer, with 90 % limits.

    None while there are too few tries on one side.
    """

    behaviour: str
    step: str
    n_met: int
    n: int
    own_met: int
    own_n: int
    difference: float | None = None
    low: float | None = None
    high: float | None = None


def carry_over(behaviour: str, step: str, family: Sequence[Outcome], trainer: Sequence[Outcome]) -> Carried:
    """Return how a step goes with the family beside the trainer. Outcomes in time order; void ones count for nothing.

    A helped try counts as not met, on both sides.
    """
    theirs = [one is Outcome.MET for one in family if one is not Outcome.VOID]
    own = [one is Outcome.MET for one in trainer if one is not Outcome.VOID][-NEWEST:]
    counts = (sum(theirs), len(theirs), sum(own), len(own))
    if min(len(theirs), len(own)) < LEAST:
        return Carried(behaviour, step, *counts)
    low, high = difference_limits(*counts)
    return Carried(behaviour, step, *counts, sum(theirs) / len(theirs) - sum(own) / len(own), low, high)


def difference_limits(met: int, n: int, other_met: int, other_n: int, level: float = 0.9) -> tuple[float, float]:
    """Return the limits of met/n − other_met/other_n.

    Model: Newcombe's hybrid of two Wilson intervals (l, u): low = d − √((p1 − l1)² + (u2 − p2)²), high = d +
    √((u1 − p1)² + (p2 − l2)²).
    Source: Newcombe, 1998, Statistics in Medicine 17, 873-890, method 10; statsmodels and the paper's example (from
    memory) in tests/external/test_after_handover.py.
    """
    if n < 1 or other_n < 1:
        raise InvalidInput.of("n", "There is nothing to compare without a try on each side.")
    p, q = met / n, other_met / other_n
    (low, high), (other_low, other_high) = wilson(met, n, level), wilson(other_met, other_n, level)
    difference = p - q
    return (
        difference - sqrt((p - low) ** 2 + (other_high - q) ** 2),
        difference + sqrt((high - p) ** 2 + (q - other_low) ** 2),
    )


USUAL_ITEMS: tuple[tuple[str, Sentence], ...] = (
    ("outing", sentence("Took it out, waited with it and paid it there")),
    ("crate", sentence("Put it into its crate or quiet place and let it out again")),
    ("ration", sentence("Weighed and fed a meal")),
    ("pay", sentence("Paid at the right moment, and with the right hand")),
    ("lead", sentence("Put collar and lead on and walked with it")),
    ("swap", sentence("Swapped a thing it must not have for food")),
    ("alone", sentence("Left it alone for as long as the plan says")),
    ("safety", sentence("Read the safety page, and knows whom to call")),
    ("link", sentence("Opened the link and wrote something down")),
)
"""What every family does once themselves before they leave (common practice, no source)."""

_ASKED = sentence("Asked for “{name}”, and it worked")


def propose_items(goals: Sequence[tuple[str, str]]) -> list[tuple[str, Sentence]]:
    """Return what to tick: each goal asked for by the family, then the usual ones. goals: key and name."""
    asked = [(f"cue:{key}", Sentence(_ASKED.template, {"name": name})) for key, name in goals]
    return [*asked, *USUAL_ITEMS]
