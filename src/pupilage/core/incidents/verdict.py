"""A plan's figures gathered, before they are put into words."""

from dataclasses import dataclass
from datetime import date

from pupilage.core.incidents.comparison import Comparison
from pupilage.core.incidents.patterns import Early, Harm, Return
from pupilage.core.incidents.phases import PlanPhase


@dataclass(frozen=True)
class Verdict:
    """All that the sentences are made from.

    has_days: before the start, and since; starts: of every phase that has begun; the rest as in `PlanAnswers`.
    """

    starts_on: date | None
    has_begun: bool
    phase: PlanPhase | None = None
    has_days: tuple[bool, bool] = (False, False)
    comparison: Comparison | None = None
    since_first: Comparison | None = None
    starts: tuple[date, ...] = ()
    changed: tuple[date, date] | None = None
    has_enough_days: bool = False
    early: Early = Early.NOTHING
    back: Return | None = None
    harm: Harm = Harm.NONE
    n_days_since: int = 0
    n_outside: int = 0

    @property
    def start_that_fits(self) -> date | None:
        """The newest phase's first day among those days that can be the first with a new rate; None without one."""
        if self.changed is None:
            return None
        low, high = self.changed
        return max((start for start in self.starts if low <= start <= high), default=None)

    @property
    def has_fallen(self) -> bool:
        """The limits lie below 1, beside the first days where these were a burst."""
        ratio = None if self.comparison is None else self.comparison.ratio
        if self.comparison is not None and self.early is Early.BURST:
            ratio = self.comparison.without_first_days
        return ratio is not None and ratio.high < 1.0
