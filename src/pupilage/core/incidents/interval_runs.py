"""A run with the timer: which stretch comes next, folded from what was tapped."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from pupilage.core.incidents.intervals import SHORTEST_S, next_interval
from pupilage.core.training.criterion.holds import fleshler_hoffman
from pupilage.core.training.rewards.schedules import shuffled

TERMS = 12
"""Terms of a variable list, as in the example of Fleshler and Hoffman; after them it is shuffled anew."""

EARLY_S = 1.0
"""A pay tapped up to this long before its time counts as paid in time."""


class Spacing(StrEnum):
    """Whether every stretch is as long as the mean, or varies around it. Stored values are fixed for good."""

    FIXED = "fixed"
    VARIABLE = "variable"


class RunEventKind(StrEnum):
    """What was tapped. Stored values are fixed for good.

    CAME: the unwanted behaviour; STOPPED: the wanted one ended, so that nothing is timed until it BEGAN again.
    """

    BEGAN = "began"
    PAID = "paid"
    CAME = "came"
    STOPPED = "stopped"
    WITHDRAWN = "withdrawn"
    ENDED = "ended"


BROKEN_BY = (RunEventKind.CAME, RunEventKind.STOPPED)


@dataclass(frozen=True)
class RunEvent:
    """One tap. mean_s, interval_s: the mean and the stretch that were being timed; withdraws: another event's id."""

    id: str
    kind: RunEventKind
    at: datetime
    mean_s: float
    interval_s: float
    withdraws: str | None = None


@dataclass(frozen=True)
class Stretch:
    """One stretch that is over: how long it was to be, how long it lasted, and how it ended. early: paid too soon."""

    interval_s: float
    lasted_s: float
    kind: RunEventKind
    early: bool = False


@dataclass(frozen=True)
class RunState:
    """Where a run stands. n_timed: stretches begun before this one; run: passed in a row; since: when this one began.

    since and due_at are None before the first tap, after the last, and while a wanted behaviour has stopped.
    """

    mean_s: float
    interval_s: float
    n_timed: int
    run: int
    since: datetime | None
    ended_at: datetime | None
    began_at: datetime | None
    stretches: tuple[Stretch, ...]

    @property
    def due_at(self) -> datetime | None:
        """When the pup is to be paid if the behaviour does not come before."""
        return None if self.since is None else self.since + timedelta(seconds=self.interval_s)

    @property
    def n_paid(self) -> int:
        """Stretches that passed and were paid in time."""
        return sum(s.kind is RunEventKind.PAID and not s.early for s in self.stretches)

    @property
    def n_came(self) -> int:
        """How often the behaviour came, or the wanted one stopped."""
        return sum(s.kind in BROKEN_BY for s in self.stretches)


def interval_list(mean_s: float, n_terms: int = TERMS) -> tuple[float, ...]:
    """Return the stretches of a variable list, from short to long.

    Model, source: `holds.fleshler_hoffman`; the published list of 12 terms and mean 30 s in
    tests/external/test_interval_runs.py.
    """
    return fleshler_hoffman(n_terms, mean_s)


def multiples(spacing: Spacing, seed: str, block: int = 0) -> tuple[float, ...]:
    """Return twelve stretches in the order in which they are timed, as multiples of the mean.

    Model: fixed: all 1. Variable: the list with mean 1, shuffled by the digests of seed and block, so that a run is the
    same after a restart and on another device.
    """
    if spacing is Spacing.FIXED:
        return (1.0,) * TERMS
    terms = interval_list(1.0)
    return tuple(terms[place] for place in shuffled(TERMS, f"{seed}/{block}"))


def interval_at(mean_s: float, spacing: Spacing, seed: str, n_timed: int) -> float:
    """Return how long the stretch is that comes after `n_timed` others, in tenths of a second (halves go up)."""
    block, place = divmod(n_timed, TERMS)
    least_s = least_interval_s(spacing)
    return max(least_s, math.floor(10.0 * mean_s * multiples(spacing, seed, block)[place] + 0.5) / 10.0)


def least_interval_s(spacing: Spacing) -> float:
    """Return the shortest stretch: 5 s where it is fixed; 1 s in a variable list, whose short ones hide the end."""
    return SHORTEST_S if spacing is Spacing.FIXED else 1.0


def fold_run(first_mean_s: float, spacing: Spacing, seed: str, events: Iterable[RunEvent]) -> RunState:
    """Return where a run stands after its events, in whatever order they arrived.

    Model: a stretch begins with the run, when the pup was paid and when the behaviour came (a resetting schedule);
    where a wanted behaviour stopped, when it began again. The mean after each is `intervals.next_interval` of the
    mean that was timed; paid before its time counts neither way. An event that another one withdraws counts for
    nothing; the newest event before it then stands. Of one instant, the end comes last.
    Source: resetting differential reinforcement of other behaviour: Cooper, Heron & Heward, Applied Behavior Analysis
    (from memory).
    """
    known = sorted(events, key=lambda event: (event.at, event.kind is RunEventKind.ENDED, event.id))
    gone = {event.withdraws for event in known if event.kind is RunEventKind.WITHDRAWN}
    state = RunState(first_mean_s, interval_at(first_mean_s, spacing, seed, 0), 0, 0, None, None, None, ())
    for event in known:
        if event.kind is not RunEventKind.WITHDRAWN and event.id not in gone:
            state = _after(state, event, spacing, seed)
    return state


def _after(state: RunState, event: RunEvent, spacing: Spacing, seed: str) -> RunState:
    if event.kind is RunEventKind.BEGAN:
        began_at = state.began_at or event.at
        return replace(state, since=state.since or event.at, began_at=began_at)
    if event.kind is RunEventKind.ENDED:
        return replace(state, since=None, ended_at=event.at)
    if state.since is None:
        return state
    lasted_s = max(0.0, (event.at - state.since).total_seconds())
    early = event.kind is RunEventKind.PAID and lasted_s < event.interval_s - EARLY_S
    run = 0 if event.kind in BROKEN_BY else state.run + (not early)
    mean_s = event.mean_s if early else next_interval(event.mean_s, run).seconds
    n_timed = state.n_timed + 1
    return replace(
        state,
        mean_s=mean_s,
        interval_s=interval_at(mean_s, spacing, seed, n_timed),
        n_timed=n_timed,
        run=run,
        since=None if event.kind is RunEventKind.STOPPED else event.at,
        stretches=(*state.stretches, Stretch(event.interval_s, lasted_s, event.kind, early)),
    )
