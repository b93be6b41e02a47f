"""An independent reading of the hard rules: from the blocks of a timetable alone, without the shapes or the solver.

Written apart from what lays plans, so that the two can only agree on the rules themselves.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from pupilage.core import clock
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, DayPlan
from pupilage.core.planning.day.frame import Appointment, DayFrame, local
from pupilage.core.planning.day.rules import (
    AFTER_BIG_MEAL_MIN,
    AFTER_TRIGGER_MIN,
    BIG_MEAL_SHARE,
    REST_BETWEEN_SESSIONS_MIN,
    SHORTEST_NAP_MIN,
    HardRule,
)
from pupilage.core.words import Sentence

HANDS = (
    BlockKind.OUTING,
    BlockKind.MEAL,
    BlockKind.SESSION,
    BlockKind.PLAY,
    BlockKind.EXPOSURE,
    BlockKind.RESIDENT,
    BlockKind.APPOINTMENT,
)
"""What takes the trainer's hands."""

ASLEEP = (BlockKind.NAP, BlockKind.NIGHT)
BESIDE = (BlockKind.APPOINTMENT, BlockKind.RESIDENT)
"""What the trainer does while the pup sleeps on: before waking too."""
SOON = timedelta(minutes=AFTER_TRIGGER_MIN)
CALM = timedelta(minutes=AFTER_BIG_MEAL_MIN)
REST = timedelta(minutes=REST_BETWEEN_SESSIONS_MIN)
SHORTEST_NAP = timedelta(minutes=SHORTEST_NAP_MIN)


@dataclass(frozen=True)
class Breach:
    """A hard rule that a plan breaks, where and how."""

    rule: HardRule
    at: datetime
    words: Sentence


def check_plan(
    frame: DayFrame, plan: DayPlan, *, since: datetime | None = None, emptied: Sequence[datetime] = ()
) -> tuple[Breach, ...]:
    """Return every breach of a hard rule, in time order.

    since: of a plan made again during the day, the instant from which it was; what was before is not judged, and the
    block awake that went on then may be longer than the age allows; emptied: accidents and outings outside the plan.
    """
    blocks = [block for block in plan.blocks if block.state is not BlockState.SKIPPED]
    day = _Read(frame, sorted(blocks, key=lambda block: (block.start, block.end)), since, emptied)
    found = [*day.triggers(), *day.crate(), *day.in_time(), *day.awake(), *day.naps(), *day.calm()]
    found += [*day.appointments(), *day.hands(), *day.sessions(), *day.meals(), *day.bounds()]
    judged = [one for one in found if since is None or one.at >= since]
    return tuple(sorted(judged, key=lambda one: one.at))


@dataclass(frozen=True)
class _Read:
    frame: DayFrame
    blocks: list[Block]
    since: datetime | None
    emptied: Sequence[datetime]

    def of(self, *kinds: BlockKind) -> list[Block]:
        return [block for block in self.blocks if block.kind in kinds]

    def breach(self, rule: HardRule, at: datetime, template: str) -> Breach:
        return Breach(rule, at, Sentence(template, {"at": local(at, self.frame.zone)}))

    def _out_soon(self, ends: Sequence[datetime], rule: HardRule, template: str) -> Iterator[Breach]:
        outings = self.of(BlockKind.OUTING)
        for end in ends:
            if end < self.frame.next_wake_at and not any(end <= out.start <= end + SOON for out in outings):
                yield self.breach(rule, end, template)

    def triggers(self) -> Iterator[Breach]:
        """Out within 5 minutes of waking, naps, meals and play."""
        woke = [block.end for block in self.of(*ASLEEP)] + ([] if self.since else [self.frame.wake_at])
        yield from self._out_soon(woke, HardRule.OUT_AFTER_NAP, "No outing follows the waking at {at}.")
        ate = [block.end for block in self.of(BlockKind.MEAL)]
        yield from self._out_soon(ate, HardRule.OUT_AFTER_MEAL, "No outing follows the meal that ends at {at}.")
        played = [block.end for block in self.of(BlockKind.PLAY)]
        yield from self._out_soon(played, HardRule.OUT_AFTER_PLAY, "No outing follows the play that ends at {at}.")

    def crate(self) -> Iterator[Breach]:
        """Out directly before the crate: before a nap or a night, or the chewing that leads into it."""
        for rest in self.of(*ASLEEP):
            start = rest.start
            start = next((chew.start for chew in self.of(BlockKind.CHEW) if chew.end == start), start)
            if not any(start - SOON <= out.end <= start for out in self.of(BlockKind.OUTING)):
                yield self.breach(HardRule.OUT_BEFORE_CRATE, rest.start, "No outing comes before the crate at {at}.")

    def in_time(self) -> Iterator[Breach]:
        """Never longer between the starts of two outings than the limit: by night, resting, or awake."""
        limits = self.frame.limits
        starts = [*(out.start for out in self.of(BlockKind.OUTING)), self.frame.next_wake_at]
        for earlier, later in pairwise(starts):
            between = [rest for rest in self.of(*ASLEEP) if earlier < rest.end <= later]
            minutes = limits.awake_min
            if any(rest.kind is BlockKind.NIGHT for rest in between):
                minutes = limits.night_min
            elif between:
                minutes = limits.resting_min
            last = max([earlier, *(at for at in self.emptied if at <= later)])
            if later - last > timedelta(minutes=minutes):
                yield self.breach(HardRule.OUT_IN_TIME, later, "The outing at {at} comes too late.")

    def _stretches(self) -> list[tuple[datetime, datetime]]:
        naps = self.of(BlockKind.NAP)
        nights = [night.start for night in self.of(BlockKind.NIGHT)]
        ends = [nap.start for nap in naps] + [min([*nights, self.frame.next_wake_at])]
        up = [block.start for block in self.blocks if block.kind not in BESIDE]
        begins = [min([self.frame.wake_at, *up[:1]]), *(nap.end for nap in naps)]
        return list(zip(begins, ends, strict=True))

    def awake(self) -> Iterator[Breach]:
        """No longer awake at a stretch than the age allows, or than an appointment with its outings takes."""
        most = timedelta(minutes=self.frame.awake_min[1])
        along = [one for one in self.frame.appointments if one.comes_along]
        for start, end in self._stretches():
            held = [one for one in along if start <= one.start and one.end <= end]
            allowed = most
            if held:
                outings = timedelta(minutes=2 * (-(-self.frame.outing_min // 5) * 5) + 10)
                allowed = max(most, held[-1].end - held[0].start + outings)
            if end - start > allowed and not (self.since is not None and start < self.since):
                yield self.breach(HardRule.AWAKE_NO_LONGER, end, "The pup is awake too long until {at}.")

    def naps(self) -> Iterator[Breach]:
        """No nap under half an hour."""
        for nap in self.of(BlockKind.NAP):
            if nap.end - nap.start < SHORTEST_NAP and nap.state is BlockState.PLANNED:
                yield self.breach(HardRule.NAP_LONG_ENOUGH, nap.start, "The nap at {at} is too short.")

    def calm(self) -> Iterator[Breach]:
        """Nothing lively within half an hour of a big meal."""
        food_g = sum(meal.bowl_g + meal.pouch_g for meal in self.frame.meals)
        big = [meal for meal in self.of(BlockKind.MEAL) if (meal.bowl_g or 0.0) >= BIG_MEAL_SHARE * food_g]
        for block in self.of(BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE):
            if any(meal.end <= block.start < meal.end + CALM for meal in big):
                yield self.breach(HardRule.CALM_AFTER_BIG_MEAL, block.start, "Soon after a big meal, at {at}.")

    def appointments(self) -> Iterator[Breach]:
        """Every appointment is there, and the pup rests in it or comes along, unless somebody else is there."""
        planned = self.of(BlockKind.APPOINTMENT)
        begins, ends = clock.day_bounds(self.frame.day, self.frame.zone)[0], self.frame.next_wake_at
        for one in (one for one in self.frame.appointments if begins < one.end and one.start < ends):
            near = (one.start + SOON, one.end - SOON)
            if not any(block.start < near[0] and block.end > near[1] for block in planned):
                yield self.breach(HardRule.APPOINTMENTS_FIXED, one.start, "The appointment at {at} is missing.")
            for rest in self.of(*ASLEEP) if one.comes_along else []:
                if rest.start < one.end and one.start < rest.end:
                    yield self.breach(
                        HardRule.APPOINTMENTS_FIXED, one.start, "The pup sleeps though it comes along, {at}."
                    )

    def hands(self) -> Iterator[Breach]:
        """One thing at a time for the trainer; nothing with the pup while it sleeps; outings may be somebody else's."""
        busy = [block for block in self.of(*HANDS) if not self._is_covered(block)]
        for earlier, later in pairwise(sorted(busy, key=lambda block: block.start)):
            if later.start < earlier.end:
                yield self.breach(HardRule.ONE_THING_AT_A_TIME, later.start, "Two things at once, at {at}.")
        for rest in self.of(*ASLEEP):
            for block in self.of(*HANDS, BlockKind.CHEW):
                beside = block.kind in (BlockKind.RESIDENT, BlockKind.APPOINTMENT)
                if not beside and block.start < rest.end and rest.start < block.end:
                    yield self.breach(HardRule.ONE_THING_AT_A_TIME, block.start, "The pup is to sleep at {at}.")
        for block in self.of(BlockKind.RESIDENT):
            if not any(rest.start <= block.start and block.end <= rest.end for rest in self.of(*ASLEEP)):
                yield self.breach(HardRule.ONE_THING_AT_A_TIME, block.start, "The pup is awake at {at}.")

    def _is_covered(self, block: Block) -> bool:
        covered = [one for one in self.frame.appointments if one.covered or self._is_asked_for(one)]
        inside = any(one.start < block.end and block.start < one.end for one in covered)
        return block.kind is BlockKind.OUTING and inside

    def _is_asked_for(self, one: Appointment) -> bool:
        """Whether a plan made again may ask somebody to see to the pup: the appointment begins within the hour."""
        return self.since is not None and not one.comes_along and one.start < self.since + timedelta(hours=1)

    def sessions(self) -> Iterator[Breach]:
        """Rest between two sessions, and no behaviour twice in a row without a nap between."""
        for earlier, later in pairwise(self.of(BlockKind.SESSION)):
            if later.start - earlier.end < REST:
                yield self.breach(HardRule.REST_BETWEEN_SESSIONS, later.start, "No rest before the session at {at}.")
            slept = any(earlier.end <= nap.start and nap.end <= later.start for nap in self.of(BlockKind.NAP))
            same = earlier.session and later.session and earlier.session.behaviour == later.session.behaviour
            if same and not slept:
                yield self.breach(HardRule.NOT_TWICE_IN_A_ROW, later.start, "The same behaviour again at {at}.")

    def meals(self) -> Iterator[Breach]:
        """Every meal; of a plan made again, what it left out is said among its soft rules."""
        missing = len(self.frame.meals) - len(self.of(BlockKind.MEAL))
        if missing and self.since is None:
            yield self.breach(HardRule.EVERY_MEAL, self.frame.wake_at, "A meal is missing on the day from {at}.")

    def bounds(self) -> Iterator[Breach]:
        """The day's things between waking and the last outing, on the grid, and the last outing at its time."""
        last = self.frame.last_outing_at
        earliest = last if self.since is None else last - timedelta(minutes=30)
        if not any(
            earliest <= block.start <= max(last, self.since or last) + SOON for block in self.of(BlockKind.OUTING)
        ):
            yield self.breach(HardRule.DAY_BOUNDS, last, "No outing begins at {at}, the last one's time.")
        for block in self.blocks:
            if block.start.minute % 5 or block.end.minute % 5 or block.end <= block.start:
                yield self.breach(HardRule.DAY_BOUNDS, block.start, "A block is off the grid at {at}.")
            lively = block.kind not in (BlockKind.OUTING, BlockKind.NIGHT, BlockKind.APPOINTMENT)
            early = block.start < self.frame.wake_at and self.since is None and block.kind is not BlockKind.APPOINTMENT
            if early or (lively and block.end > last):
                yield self.breach(HardRule.DAY_BOUNDS, block.start, "A block lies outside the day at {at}.")
