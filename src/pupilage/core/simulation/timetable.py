"""A day's timetable on the kitchen clock: awake for an hour, asleep for an hour and a half, again and again.

Minutes count from local midnight. What comes of an outing, who eats how much and what the pup learns is decided
elsewhere; here is only when.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from numpy.random import Generator

from pupilage.core.simulation.chance import between, happens, pick, pick_some, whole

BEDTIME_MIN = 22 * 60 + 25
NIGHT_OUTING_MIN = 4 * 60 + 20
"""After every hour at which zones change their clocks, so that the night has one such outing in any case."""

EVENING_FROM_END = 2
"""The evening round of play stands in the second last block of the day, before the last meal."""


class ActivityKind(StrEnum):
    """What the pup is doing. Lives in the simulation only; nothing of it is stored."""

    NIGHT_OUTING = "night outing"
    WAKE = "wake"
    OUTING = "outing"
    SESSION = "session"
    PLAY = "play"
    MEAL = "meal"
    CHEW = "chew"
    ACCIDENT = "accident"
    NAP = "nap"
    BED = "bed"


class Mishap(StrEnum):
    """How an outing comes too late in a block."""

    NONE = "none"
    AFTER_PLAY = "after play"
    LONG_AFTER_OUTING = "long after the last outing"


@dataclass(frozen=True)
class Activity:
    """Something that happens from start_min to end_min of a day's clock; equal for a moment."""

    kind: ActivityKind
    start_min: float
    end_min: float


@dataclass(frozen=True)
class BlockPlan:
    """What an hour awake is to hold."""

    session: bool
    meal: bool
    play: bool
    chew: bool
    mishap: Mishap = Mishap.NONE


@dataclass
class _Block:
    """Activities placed one after the other, from minute 0 of the block."""

    rng: Generator
    at_min: float = 0.0
    activities: list[Activity] = field(default_factory=list)

    def put(self, kind: ActivityKind, lasts: tuple[float, float], pause: tuple[float, float]) -> None:
        start = self.at_min + between(self.rng, *pause)
        end = start + (between(self.rng, *lasts) if lasts[1] else 0.0)
        self.activities.append(Activity(kind, start, end))
        self.at_min = end


MOMENT = (0.0, 0.0)


def lay_out_block(plan: BlockPlan, rng: Generator) -> list[Activity]:
    """Return what happens in an hour awake: out first, work before food, and out before sleep."""
    block = _Block(rng)
    block.put(ActivityKind.OUTING, MOMENT, (1.0, 4.0))
    if plan.session:
        block.put(ActivityKind.SESSION, (11.0, 12.0), (4.0, 7.0))
    if plan.play:
        block.put(ActivityKind.PLAY, (8.0, 14.0), (2.0, 6.0))
        if plan.mishap is Mishap.AFTER_PLAY:
            block.put(ActivityKind.ACCIDENT, MOMENT, (1.0, 4.0))
        if plan.mishap is not Mishap.LONG_AFTER_OUTING:
            block.put(ActivityKind.OUTING, MOMENT, (2.0, 5.0))
    if plan.meal:
        block.put(ActivityKind.MEAL, MOMENT, (3.0, 6.0))
    if plan.meal and plan.mishap is not Mishap.LONG_AFTER_OUTING:
        block.put(ActivityKind.OUTING, MOMENT, (8.0, 16.0))
    if plan.chew and block.at_min < 32.0:
        block.put(ActivityKind.CHEW, (7.0, 13.0), (3.0, 6.0))
    return _close_block(block, plan)


def _close_block(block: _Block, plan: BlockPlan) -> list[Activity]:
    """Fill the hour, and go out before sleep; a mishap of the slow kind happens shortly before that."""
    block.at_min = max(block.at_min, 42.0 if plan.mishap is Mishap.LONG_AFTER_OUTING else 36.0)
    if plan.mishap is Mishap.LONG_AFTER_OUTING:
        block.put(ActivityKind.ACCIDENT, MOMENT, (4.0, 9.0))
    block.put(ActivityKind.OUTING, MOMENT, (3.0, 9.0))
    return block.activities


def draw_mishaps(rng: Generator, number: int, n_blocks: int) -> dict[int, Mishap]:
    """Return the blocks of a day in which an outing comes too late: fewer as the days go by."""
    n_late = min(3, int(rng.poisson(1.3 * 2.0 ** (-number / 3.5))))
    kinds = (Mishap.AFTER_PLAY, Mishap.LONG_AFTER_OUTING)
    return {block: pick(rng, kinds) for block in pick_some(rng, range(n_blocks), n_late)}


def plan_blocks(rng: Generator, number: int, n_blocks: int, n_sessions: int) -> list[BlockPlan]:
    """Return the blocks of a day. Meals stand in every second block and in the second last."""
    mishaps = draw_mishaps(rng, number, n_blocks)
    sessions = set(pick_some(rng, range(n_blocks), n_sessions))
    evening = n_blocks - EVENING_FROM_END
    meals = {n_blocks - 7, n_blocks - 5, n_blocks - 3, evening}
    return [
        BlockPlan(
            session=i in sessions,
            meal=i in meals,
            play=i == evening or mishaps.get(i) is Mishap.AFTER_PLAY or happens(rng, 0.25 if i in meals else 0.7),
            chew=happens(rng, 0.45),
            mishap=mishaps.get(i, Mishap.NONE),
        )
        for i in range(n_blocks)
    ]


def lay_out_day(rng: Generator, *, number: int, starts_min: float, n_sessions: int) -> list[Activity]:
    """Return a day's activities in time order, from waking (or arriving) at `starts_min` to bedtime.

    n_sessions: training or probe sessions that the day has room for, at most one a block.
    """
    n_blocks = round((BEDTIME_MIN - starts_min + 85) / 148)
    blocks = [lay_out_block(plan, rng) for plan in plan_blocks(rng, number, n_blocks, n_sessions)]
    lengths = [block[-1].end_min + between(rng, 3.0, 8.0) for block in blocks]
    naps = _nap_lengths(rng, BEDTIME_MIN - starts_min - sum(lengths), n_blocks - 1)
    day = _night(rng, number)
    at_min = starts_min
    for block, length, nap in zip(blocks, lengths, [*naps, 0.0], strict=True):
        day += [Activity(a.kind, a.start_min + at_min, a.end_min + at_min) for a in block]
        at_min += length
        if nap:
            day.append(Activity(ActivityKind.NAP, at_min, at_min + nap))
        at_min += nap
    day.append(Activity(ActivityKind.BED, at_min, at_min))
    if number > 0:
        day.insert(1, Activity(ActivityKind.WAKE, starts_min, starts_min))
    return day


def _night(rng: Generator, number: int) -> list[Activity]:
    """Return the outing of the night before the day; there is none before the pup has come."""
    if number == 0:
        return []
    at_min = NIGHT_OUTING_MIN + between(rng, -10.0, 25.0)
    return [Activity(ActivityKind.NIGHT_OUTING, at_min, at_min)]


def _nap_lengths(rng: Generator, total_min: float, n_naps: int) -> Sequence[float]:
    weights = [between(rng, 0.8, 1.2) for _ in range(n_naps)]
    return [total_min * weight / sum(weights) for weight in weights]


def draw_start(rng: Generator, number: int) -> float:
    """Return the minute at which a day starts: half past six or so, and later on the day of arrival."""
    return 10.0 * 60 + 30 + whole(rng, 0, 15) if number == 0 else 6.0 * 60 + 30 + whole(rng, 0, 12)
