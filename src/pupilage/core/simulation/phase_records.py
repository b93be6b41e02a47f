"""Simulated days before and with a plan: what is named where nothing happens, and where something does."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.incidents.answers import CHANGED
from pupilage.core.incidents.comparison import FIRST_DAYS, LAST_DAYS, ratio_between
from pupilage.core.incidents.days import DayCount, weigh_days
from pupilage.core.incidents.patterns import Early, early_days, find_return
from pupilage.core.incidents.regression import unevenness

FIRST_DAY = date(2026, 5, 4)
PHASE_DAYS = 14
PUBLISHED_BASE_DAYS = 5
"""Days before a start that the published rule looks at (Lerman, Iwata & Wallace, 1999; from memory)."""


@dataclass(frozen=True)
class PhaseWorld:
    """How often it happens: an hour before the start, and by what that is multiplied on each day with the plan.

    shape: of the gamma factor by which days differ (infinite: Poisson days); waits_for_bad_days: the plan begins, as
    people do, when three days on end from the fourth day on were half as bad again as usual, after two weeks at latest.
    """

    name: str
    an_hour: float = 0.3
    times: tuple[float, ...] = (1.0,) * PHASE_DAYS
    shape: float = np.inf
    waits_for_bad_days: bool = False


NO_CHANGE = PhaseWorld("nothing changes")
WORLDS = (
    NO_CHANGE,
    replace(NO_CHANGE, name="nothing changes, days differ", shape=2.0),
    replace(NO_CHANGE, name="nothing changes, begun on bad days", waits_for_bad_days=True),
    PhaseWorld("halved from the first day", times=(0.5,) * PHASE_DAYS),
    PhaseWorld("a quarter from the first day", times=(0.25,) * PHASE_DAYS),
    PhaseWorld("seldom (one in two days), nothing changes", an_hour=0.06),
    PhaseWorld("seldom, a quarter from the first day", an_hour=0.06, times=(0.25,) * PHASE_DAYS),
    PhaseWorld("twice for three days, then a quarter", times=(2.0,) * 3 + (0.25,) * 11),
    PhaseWorld("three times for three days, then a quarter", times=(3.0,) * 3 + (0.25,) * 11),
    PhaseWorld(
        "gone after four days, back at the old rate for two", times=(0.5,) * 4 + (0.0,) * 6 + (1.0,) * 2 + (0.0,) * 2
    ),
)


@dataclass(frozen=True)
class Named:
    """What was named in so many records. All but `n` are counts.

    fallen: the limits of the ratio lie below 1 on day fourteen; ever_fallen: on any day from the third on, for whoever
    looks each day; rise, burst, still_up, returned: on any day; published: by the rule of the published counts; dated:
    on day fourteen a change shows and the start lies within its limits.
    """

    n: int
    fallen: int
    ever_fallen: int
    rise: int
    burst: int
    still_up: int
    returned: int
    published: int
    dated: int


def name_patterns(world: PhaseWorld, n_records: int, seed: int, *, each: Callable[[], None] = lambda: None) -> Named:
    """Return what is named in n records of a world."""
    rng = np.random.default_rng(seed)
    counts = np.zeros(8, dtype=int)
    for _ in range(n_records):
        counts += _named(*draw_record(world, rng))
        each()
    return Named(n_records, *(int(count) for count in counts))


def draw_record(world: PhaseWorld, rng: Generator) -> tuple[list[DayCount], list[DayCount]]:
    """Return two weeks before the start and two with the plan, five to eleven free hours a day."""
    before = _draw(np.full(PHASE_DAYS, 1.0), world, rng)
    if world.waits_for_bad_days:
        before = before[: _first_bad_run(before, world.an_hour)]
    return before, _draw(np.asarray(world.times), world, rng, first=len(before))


def _draw(times: NDArray[np.float64], world: PhaseWorld, rng: Generator, *, first: int = 0) -> list[DayCount]:
    hours = rng.uniform(5.0, 11.0, len(times))
    factor = 1.0 if np.isinf(world.shape) else rng.gamma(world.shape, 1.0 / world.shape, len(times))
    counts = rng.poisson(world.an_hour * hours * times * factor)
    return [
        DayCount(FIRST_DAY + timedelta(days=first + i), int(n), float(h))
        for i, (n, h) in enumerate(zip(counts, hours, strict=True))
    ]


def _first_bad_run(days: list[DayCount], an_hour: float) -> int:
    """Return how many days have passed when three on end, from the fourth day on, were half as bad again as usual."""
    for end in range(LAST_DAYS + 1, len(days)):
        last = days[end - LAST_DAYS : end]
        if sum(day.n for day in last) > 1.5 * an_hour * sum(day.hours for day in last):
            return end
    return len(days)


def _named(before: list[DayCount], after: list[DayCount]) -> NDArray[np.int_]:
    looks = [after[:n] for n in range(1, len(after) + 1)]
    early = {early_days(before, seen) for seen in looks}
    backs = [find_return(before, seen) for seen in looks]
    return np.array(
        [
            _falls(before, after),
            any(_falls(before, seen) for seen in looks[FIRST_DAYS - 1 :]),
            Early.RISE in early,
            Early.BURST in early,
            Early.STILL_UP in early,
            any(back is not None and back.named for back in backs),
            max(day.n for day in after[:FIRST_DAYS]) > max(day.n for day in before[-PUBLISHED_BASE_DAYS:]),
            _dated(before, after),
        ],
        dtype=int,
    )


def _falls(before: list[DayCount], after: list[DayCount]) -> bool:
    ratio = ratio_between(before, after)
    return ratio is not None and ratio.high < 1.0


def _dated(before: list[DayCount], after: list[DayCount]) -> bool:
    change = weigh_days([*before, *after], unevenness([before, after]))
    return change.log_bayes_factor >= CHANGED and change.low + 1 <= len(before) <= change.high + 1
