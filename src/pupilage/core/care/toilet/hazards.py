"""What is known of one pup's hazards beside the pooled curve: its own factor, and how its cells differ."""

from dataclasses import dataclass
from functools import cached_property

from pupilage.core.care.toilet.figures import Figure
from pupilage.core.care.toilet.rates import Floats, Rates, log_survival

PULL = 40.0
"""Own choice: outdoors a pup goes once its urge is a fortieth of the limit. The urge grows with the cube of time, so
that is at 29 % of the minutes after which it would have gone indoors."""

PULL_VARIANCE = 0.25
"""Own choice, of the log of the pull between pups: two pups in three lie between 24 and 66."""


@dataclass(frozen=True)
class Hazards:
    """The pup's own factor, from two witnesses, and a factor for each cell beside it: hazard = own · cell · curve.

    told_shape, told_worth: Gamma, what outings tell of the own factor if the pup's pull is PULL. n_seen, seen:
    accidents, and what the curve expected in the time that led to them or passed without. One pup has numbers, many
    have arrays with the pups along their only axis; `cells` has the cells along the last.
    """

    told_shape: Figure
    told_worth: Figure
    n_seen: Figure
    seen: Figure
    cells: Rates

    @cached_property
    def told(self) -> Figure:
        """The own factor by the outings alone."""
        return self.told_shape / self.told_worth

    @cached_property
    def prior_shape(self) -> Figure:
        """How many accidents the outings are worth: never more than 1 / PULL_VARIANCE, as the pull is not known."""
        return 1.0 / (1.0 / self.told_shape + PULL_VARIANCE)

    @cached_property
    def shape(self) -> Figure:
        """The shape of the own factor's Gamma: what the outings are worth, and the accidents."""
        return self.prior_shape + self.n_seen

    @cached_property
    def worth(self) -> Figure:
        """The worth of the own factor's Gamma."""
        return self.prior_shape / self.told + self.seen

    @cached_property
    def own(self) -> Figure:
        """The expected own factor."""
        return self.shape / self.worth

    @cached_property
    def pull(self) -> Figure:
        """How many times its urge the limit may be for the pup to go outdoors, by both witnesses."""
        return PULL * self.told / self.own

    def expected(self, exposure: Floats) -> Figure:
        """Return what an exposure comes to for a pup whose own factor is 1. exposure: cells along the last axis."""
        mean = self.cells.mean
        return float(mean.dot(exposure)) if mean.ndim == 1 else (mean * exposure).sum(axis=-1)

    def log_survival(self, expected: Figure) -> Figure:
        """Return the log of the chance that the pup has not gone by itself after so much was expected of it."""
        return log_survival(self.shape, self.worth, expected)
