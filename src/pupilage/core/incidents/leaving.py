"""The good news: how often the pup looks and leaves it, of the occasions written down, and whether that rises."""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.incidents.antecedents import Chances, fisher_p
from pupilage.core.incidents.record import Incident
from pupilage.core.training.posterior.intervals import wilson
from pupilage.core.words import Sentence, sentence

FEWEST_EACH = 4
"""Occasions in each half below which no two halves differ by more than chance (Fisher's p of 4 and 0 of 4 is 0.029)."""

FALSE_SHARE = 0.05


@dataclass(frozen=True)
class Leaving:
    """n_left of n occasions written down, with limits of the share; n_near: of them, those somebody caught in time.

    earlier, later: left and occasions of the older and the newer half; p: exact, two-sided, of no difference between
    the two; None where the halves are too small.
    """

    n_left: int
    n_near: int
    n: int
    low: float
    high: float
    earlier: tuple[int, int] | None
    later: tuple[int, int] | None
    p: float | None

    @property
    def says(self) -> tuple[Sentence, ...]:
        """Return what this says; nothing where neither good news nor a near miss was written down."""
        if self.n_left == self.n_near == 0:
            return ()
        return tuple(one for one in (_share_words(self), _trend_words(self), _near_words(self)) if one is not None)


def weigh_leaving(occasions: Sequence[Incident]) -> Leaving:
    """Return how often it is left, of all occasions of one behaviour.

    Model: left of all occasions (incidents, near misses and left), Wilson's limits; the newer half against the older
    by Fisher's exact test, the odd one in the middle with the newer. A near miss is an occasion that the pup did not
    leave by itself. The share is of what was written down: people forget the times when nothing happened.
    Source: Wilson (1927), J. Am. Stat. Assoc. 22; Fisher (1935), The Design of Experiments, ch. 2; values in
    tests/external/test_two_dogs.py.
    """
    in_time = sorted(occasions, key=lambda one: one.at)
    n, left = len(in_time), sum(one.left_it for one in in_time)
    near = sum(one.near_miss for one in in_time)
    half = n // 2
    if half < FEWEST_EACH:
        return Leaving(left, near, n, *wilson(left, n), None, None, None)
    earlier, later = ((sum(one.left_it for one in part), len(part)) for part in (in_time[:half], in_time[half:]))
    return Leaving(left, near, n, *wilson(left, n), earlier, later, fisher_p(Chances(*later, *earlier)))


def _share_words(found: Leaving) -> Sentence | None:
    if not found.n_left:
        return None
    return sentence(
        "It looked and left it {k} of {n} times written down: {low:.0%} to {high:.0%} fit. Pay that well.",
        k=found.n_left,
        n=found.n,
        low=found.low,
        high=found.high,
    )


def _trend_words(found: Leaving) -> Sentence | None:
    if found.p is None or found.earlier is None or found.later is None:
        return None
    (k_old, n_old), (k_new, n_new) = found.earlier, found.later
    figures = {"k_old": k_old, "n_old": n_old, "k_new": k_new, "n_new": n_new}
    if found.p > FALSE_SHARE:
        return sentence(
            "Whether it leaves it more often by now cannot be told: {k_old} of {n_old} at first, "
            "{k_new} of {n_new} since.",
            **figures,
        )
    if k_new * n_old > k_old * n_new:
        return sentence(
            "It leaves it more often by now: {k_old} of {n_old} at first, {k_new} of {n_new} since.", **figures
        )
    return sentence("It leaves it less often by now: {k_old} of {n_old} at first, {k_new} of {n_new} since.", **figures)


def _near_words(found: Leaving) -> Sentence | None:
    if not found.n_near:
        return None
    return sentence(
        "Near misses, where it began and somebody was in time: {n}. They are in no rate of incidents.", n=found.n_near
    )
