"""What is known of one pup's hazards beside the pooled curve: its own factor, and how its cells differ."""

from dataclasses import dataclass

from pupilage.core.care.toilet.rates import Figure, Floats, Rates, log_survival


@dataclass(frozen=True)
class Hazards:
    """The pup's own factor, Gamma(shape, worth), and a factor for each cell beside it.

    Both multiply the curve: hazard = own · cell · curve. One pup has numbers for its own factor; many have arrays, the
    pups along their only axis. `cells` has the cells along the last.
    """

    shape: Figure
    worth: Figure
    cells: Rates

    @property
    def own(self) -> Figure:
        """The expected own factor."""
        return self.shape / self.worth

    def expected(self, exposure: Floats) -> Figure:
        """Return what an exposure comes to for a pup whose own factor is 1. exposure: cells along the last axis."""
        return (self.cells.mean * exposure).sum(axis=-1)

    def log_survival(self, expected: Figure) -> Figure:
        """Return the log of the chance that the pup has not gone by itself after so much was expected of it."""
        return log_survival(self.shape, self.worth, expected)
