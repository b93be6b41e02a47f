"""Simulated stays in which one antecedent raises the rate of incidents, or none: is the cause found, is one made up?

Contexts overlap as they do at home: a pup let out of its crate has just woken, a busy person watches less.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.random import Generator

from pupilage.core.incidents.antecedents import Suspect, weigh_antecedents
from pupilage.core.incidents.opportunity import just_after, tables_of
from pupilage.core.incidents.record import FROM_LOG, LASTING, Before, Incident
from pupilage.core.incidents.stretches import Stretch, both, holds, union

FIRST_DAY = datetime(2026, 5, 4, 6, tzinfo=UTC)
DAY_MIN = 14 * 60
RATIO = 6.0
"""How many times likelier an incident is in a minute with the planted antecedent."""

ENOUGH = 12
"""Incidents from which the planted antecedent should lead."""

LASTING_A_DAY = {
    Before.UNWATCHED: (3.0, 60),
    Before.IN_REACH: (4.0, 80),
    Before.VISITOR: (1.0, 120),
    Before.RESIDENT_NEAR: (5.0, 120),
    Before.BUSY: (6.0, 60),
}
"""Stretches a day, and their greatest length in minutes."""


@dataclass(frozen=True)
class PlantedStay:
    """A simulated stay: the hours awake, the stretches of each antecedent, the incidents, and the cause (or None)."""

    free: list[Stretch]
    present: dict[Before, list[Stretch]]
    incidents: list[Incident]
    cause: Before | None

    def suspects(self) -> list[Suspect]:
        """Return what the page would say of the record."""
        return weigh_antecedents(tables_of(self.incidents, free=self.free, present=self.present))


@dataclass(frozen=True)
class Found:
    """What was found. n_enough: stays with a cause and 12 incidents or more; n_led: of these, the cause came first.

    n_none: stays without a cause; n_called: of these, some antecedent was called one.
    """

    n_enough: int
    n_led: int
    n_none: int
    n_called: int


def find_planted(n_stays: int, seed: int, *, ratio: float = RATIO, each: Callable[[], None] = lambda: None) -> Found:
    """Return what the weighing of antecedents finds in n stays with a cause and n without one."""
    rng = np.random.default_rng(seed)
    led, called = [], []
    for _ in range(n_stays):
        stay = draw_stay(rng, ratio)
        if len(stay.incidents) >= ENOUGH:
            led.append(stay.suspects()[0].key == stay.cause)
        called.append(any(suspect.is_called for suspect in draw_stay(rng, None).suspects()))
        each()
    return Found(len(led), sum(led), len(called), sum(called))


def draw_stay(rng: Generator, ratio: float | None) -> PlantedStay:
    """Return a stay of two to four weeks with 6 to 30 incidents expected; ratio: of the cause, None without one."""
    n_days = int(rng.integers(14, 29))
    free: list[Stretch] = []
    present: dict[Before, list[Stretch]] = {before: [] for before in (*FROM_LOG, *LASTING)}
    for day in range(n_days):
        start = FIRST_DAY + timedelta(days=day)
        for at, awake_min in _blocks(rng):
            free.append(_stretch(start, at, awake_min))
            for before, minute in _happenings(rng, at, awake_min):
                present[before] += just_after([start + timedelta(minutes=minute)])
        for before, at, minutes in _lasting(rng):
            present[before].append(_stretch(start, at, minutes))
    cause = None if ratio is None else list(present)[int(rng.integers(len(present)))]
    present = {before: union(stretches) for before, stretches in present.items()}
    likely = both(free, present[cause]) if cause else free
    return PlantedStay(free, present, list(_incidents(rng, free, likely, ratio or 1.0)), cause)


def _stretch(start: datetime, at: int, minutes: int) -> Stretch:
    return Stretch(start + timedelta(minutes=at), start + timedelta(minutes=at + minutes))


def _blocks(rng: Generator) -> Iterator[tuple[int, int]]:
    at = 0
    while at < DAY_MIN:
        awake_min = int(rng.integers(45, 80))
        yield at, awake_min
        at += awake_min + int(rng.integers(60, 110))


def _happenings(rng: Generator, at: int, awake_min: int) -> Iterator[tuple[Before, int]]:
    yield Before.WOKE, at
    if rng.random() < 0.5:
        yield Before.RELEASED, at
    for before, p, earliest, latest in (
        (Before.ATE, 0.45, 5, 25),
        (Before.PLAYED, 0.6, 15, awake_min),
        (Before.TRAINED, 0.6, 10, awake_min),
    ):
        if rng.random() < p:
            yield before, at + int(rng.integers(earliest, latest))


def _lasting(rng: Generator) -> Iterator[tuple[Before, int, int]]:
    for before, (a_day, longest_min) in LASTING_A_DAY.items():
        for _ in range(int(rng.poisson(a_day))):
            at, minutes = int(rng.integers(DAY_MIN)), int(rng.integers(5, longest_min))
            yield before, at, minutes
            if before is Before.BUSY and rng.random() < 0.5:
                yield Before.UNWATCHED, at, minutes


def _incidents(rng: Generator, free: list[Stretch], likely: list[Stretch], ratio: float) -> Iterator[Incident]:
    """Draw moments evenly over the hours awake; of those where it is not likely, keep one in `ratio`."""
    lengths = np.array([stretch.length / timedelta(minutes=1) for stretch in free])
    n_left = int(rng.poisson(rng.uniform(6.0, 30.0)))
    while n_left:
        stretch = free[int(rng.choice(len(free), p=lengths / lengths.sum()))]
        at = stretch.start + rng.random() * stretch.length
        if not holds(likely, at) and rng.random() > 1.0 / ratio:
            continue
        n_left -= 1
        yield Incident(str(n_left), "counter-stealing", at)
