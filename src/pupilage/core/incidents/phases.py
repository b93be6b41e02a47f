"""A plan against an unwanted behaviour as dated phases: before it, with it, changed, ended."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from pupilage.core.incidents.days import DayCount, tally_of
from pupilage.core.incidents.rates import Interval, rate_of


class PhaseKind(StrEnum):
    """What begins on a phase's first day. Stored values are fixed for good."""

    PLAN = "plan"
    ENDED = "ended"


@dataclass(frozen=True)
class PlanPhase:
    """What is done from a day on. id: of the row it is stored in, "" before that.

    arrange: what is arranged beforehand, in words; replacement: the key of the behaviour that takes its place, "" for
    none; gain_stops: from that day it has nothing by the unwanted behaviour any more.
    """

    starts_on: date
    kind: PhaseKind = PhaseKind.PLAN
    arrange: tuple[str, ...] = ()
    replacement: str = ""
    gain_stops: bool = False
    note: str = ""
    id: str = ""


@dataclass(frozen=True)
class PhaseDays:
    """A phase with its watched days. phase: None before any plan; rate: incidents an hour, None without a day."""

    phase: PlanPhase | None
    days: tuple[DayCount, ...]

    @property
    def starts_on(self) -> date:
        return date.min if self.phase is None else self.phase.starts_on

    @property
    def n(self) -> int:
        return sum(day.n for day in self.days)

    @property
    def rate(self) -> Interval | None:
        tally = tally_of(self.days)
        return None if tally is None else rate_of(tally)


def split_phases(days: Sequence[DayCount], phases: Sequence[PlanPhase], *, today: date) -> list[PhaseDays]:
    """Return the days before any plan, then those of each phase that has begun, in order.

    A phase's first day counts to it. Where two begin on one day the later written stands.
    """
    begun = [phase for phase in sorted(phases, key=lambda phase: phase.starts_on) if phase.starts_on <= today]
    edges = [*(phase.starts_on for phase in begun), date.max]
    found = [PhaseDays(None, tuple(day for day in days if day.day < edges[0]))]
    for phase, end in zip(begun, edges[1:], strict=True):
        if phase.starts_on < end:
            found.append(PhaseDays(phase, tuple(day for day in days if phase.starts_on <= day.day < end)))
    return found
