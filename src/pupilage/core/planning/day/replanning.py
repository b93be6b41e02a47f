"""The rest of a day planned again, when something happened: what is finished stays, what is to come moves."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from pupilage.core import clock
from pupilage.core.care.confinement import AFTER_EMPTY_OUTING
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, DayPlan, Solution
from pupilage.core.planning.day.clashes import overlaps
from pupilage.core.planning.day.first import first_starts, lay_first
from pupilage.core.planning.day.frame import GRID, GRID_MIN, Appointment, DayFrame, grid_down, grid_up
from pupilage.core.planning.day.outline import Outline
from pupilage.core.planning.day.planning import BetterPlan, Written, find_best
from pupilage.core.planning.day.shapes import NEVER, Before
from pupilage.core.planning.day.task import (
    CHEW_MIN,
    PLAY_MIN,
    Start,
    Targets,
    Task,
    Wanted,
    build_task,
    resident_pieces,
    sizes_of,
    slots,
)
from pupilage.core.planning.day.weighing import weigh
from pupilage.core.planning.day.writing import COMES_ALONG, Keys, night_blocks, with_keys
from pupilage.core.planning.planned_session import PlannedSession


class HappeningKind(StrEnum):
    """What can happen to a timetable. Stored values are fixed for good."""

    WOKE = "woke"
    ASLEEP = "asleep"
    """The pup fell asleep sooner than planned: its next nap begins now."""
    OUTING = "outing"
    """An outing that was not planned."""
    EMPTY = "empty"
    """An outing, planned or not, at which nothing was done: the next one comes soon."""
    ACCIDENT = "accident"
    DONE = "done"
    SKIPPED = "skipped"
    LATE = "late"
    """A block whose time has come was not done yet: it is placed again."""


@dataclass(frozen=True)
class Happening:
    """Something that happened at an aware instant; key: of the block that is done, skipped or late."""

    kind: HappeningKind
    at: datetime
    key: str = ""


IS_AWAKE = (HappeningKind.WOKE, HappeningKind.OUTING, HappeningKind.EMPTY, HappeningKind.ACCIDENT)
"""What ends a nap, and with it the resident dog's time."""

COVERED_AT_MOST = timedelta(hours=1)

LAST_OUTING_SOONER = timedelta(minutes=30)
"""An outing that is due so shortly before the last one of the day takes its place."""

MOST_MORE_AWAKE = (0, 6, 24, 288)
"""Slots by which a block that already runs may be longer, tried in turn: what has happened cannot be undone."""


def replan(
    frame: DayFrame,
    plan: DayPlan,
    *,
    now: datetime,
    happened: Iterable[Happening] = (),
    seconds: float = 2.0,
    on_better: BetterPlan | None = None,
) -> DayPlan:
    """Return the day with everything from `now` on planned again; what is done, skipped or past stays as it is.

    happened: all that happened on the day so far, in any order; what the plan already knows changes nothing, nor does
    the key of a block that an earlier planning let go. A skipped session is placed again where there is room; other
    skipped things are not. Keys stay with their blocks in order.
    Raises InvalidInput for an instant without a zone, or where the appointments leave no way on.
    """
    now = clock.require_aware(now, "now")
    events = sorted(happened, key=lambda one: clock.require_aware(one.at, "happened"))
    blocks = _told(plan.blocks, events, now)
    finished, to_come = _split(blocks, now)
    day = _Day(frame, now, finished, to_come, events)
    if day.origin > frame.last_outing_at:
        return _only_night(frame, day, plan)
    written, outline = day.written(plan)
    if outline is None and frame.last_outing_at - day.origin < LAST_OUTING_SOONER:
        return _only_night(frame, day, plan)
    return find_best(written, seconds=seconds, on_better=on_better, first_outline=outline)


def _told(blocks: Sequence[Block], events: Sequence[Happening], now: datetime) -> list[Block]:
    """Return the blocks as what happened to them says."""
    by_key = {block.key: block for block in blocks}
    for event in (event for event in events if event.key in by_key):
        by_key[event.key] = _one_told(by_key[event.key], event, now)
    for event in (event for event in events if event.kind is HappeningKind.ASLEEP):
        _begin_nap(by_key, event.at)
    for event in (event for event in events if event.kind in IS_AWAKE):
        for block in list(by_key.values()):
            is_rest = block.kind in (BlockKind.NAP, BlockKind.RESIDENT) and block.state is BlockState.PLANNED
            if is_rest and block.start < event.at < block.end:
                by_key[block.key] = replace(block, end=grid_up(event.at), state=BlockState.DONE)
    return list(by_key.values())


def _begin_nap(by_key: dict[str, Block], at: datetime) -> None:
    """Let the nap after an instant begin there; one that runs then is the same nap."""
    naps = [block for block in by_key.values() if block.kind is BlockKind.NAP and block.end > at]
    nap = min(naps, key=lambda block: block.start, default=None)
    if nap is not None and nap.state is BlockState.PLANNED and nap.start > at:
        by_key[nap.key] = replace(nap, start=grid_down(at))


def _one_told(block: Block, event: Happening, now: datetime) -> Block:
    if block.state is not BlockState.PLANNED:
        return block
    match event.kind:
        case HappeningKind.SKIPPED:
            return replace(block, state=BlockState.SKIPPED)
        case HappeningKind.DONE:
            return _done(block, event.at)
        case HappeningKind.LATE if block.start < event.at:
            return replace(block, start=max(now, block.start) + GRID, end=max(now, block.start) + GRID + _span(block))
    return block


def _span(block: Block) -> timedelta:
    return block.end - block.start


def _done(block: Block, at: datetime) -> Block:
    """Return a block as done: at its planned time where that is past, else up to the instant."""
    if block.end <= at:
        return replace(block, state=BlockState.DONE)
    end = grid_up(at)
    start = block.start if block.start < end else end - _span(block)
    return replace(block, start=start, end=end, state=BlockState.DONE)


def _split(blocks: Sequence[Block], now: datetime) -> tuple[list[Block], list[Block]]:
    """Return the blocks that stay as they are, and those that may still move."""
    stays, moves = list[Block](), list[Block]()
    for block in sorted(blocks, key=lambda one: (one.start, one.end)):
        goes_on = block.start < now < block.end
        may_end_otherwise = block.kind in (BlockKind.NAP, BlockKind.NIGHT) or (
            block.kind is BlockKind.APPOINTMENT and not _comes_along(block)
        )
        if block.state is not BlockState.PLANNED or block.end <= now or (goes_on and not may_end_otherwise):
            stays.append(block)
        else:
            moves.append(block)
    return stays, moves


def _comes_along(block: Block) -> bool:
    return block.reason is not None and block.reason.template == COMES_ALONG.template


@dataclass(frozen=True)
class _Day:
    """A day at an instant: what is finished, what was to come, and what happened outside the plan."""

    frame: DayFrame
    now: datetime
    finished: list[Block]
    to_come: list[Block]
    events: list[Happening]

    @property
    def held(self) -> list[Block]:
        """Finished blocks that really were."""
        return [block for block in self.finished if block.state is not BlockState.SKIPPED]

    @property
    def origin(self) -> datetime:
        """The first instant of the grid that is free: now, or the end of what goes on, or waking."""
        going = [block.end for block in self.held if block.start <= self.now < block.end and self._is_busy(block)]
        free = grid_up(max([self.now, *going]))
        return free if self._woke_at(free) is not None else max(free, self.frame.wake_at)

    def _is_busy(self, block: Block) -> bool:
        return block.kind not in (BlockKind.RESIDENT, BlockKind.NAP)

    def _woke_at(self, by: datetime) -> datetime | None:
        """Return when the pup last woke, by the end of a nap or as somebody says; None before the day began."""
        woke = [block.end for block in self.held if block.kind is BlockKind.NAP and block.end <= by]
        woke += [event.at for event in self.events if event.kind is HappeningKind.WOKE and event.at <= by]
        woke += [self.frame.wake_at] if self.frame.wake_at <= by else []
        return max(woke, default=None)

    def nap(self, origin: datetime) -> Block | None:
        """Return the nap that goes on, or None for a pup that is awake."""
        for block in self.to_come:
            led_to = self._chewed_until(block.start) or self._fell_asleep(block.start)
            begins = block.start < self.now or (block.start <= origin and led_to)
            if block.kind is BlockKind.NAP and begins:
                return block
        return None

    def _fell_asleep(self, at: datetime) -> bool:
        return any(one.kind is HappeningKind.ASLEEP and grid_down(one.at) == at for one in self.events)

    def _chewed_until(self, at: datetime) -> bool:
        """Whether the pup, taken out before, chews in its crate until then, and so goes on to its nap."""
        chews = [block for block in self.held if block.kind is BlockKind.CHEW and block.end == at]
        outs = [block for block in self.held if block.kind is BlockKind.OUTING]
        return any(out.end <= chew.start <= out.end + GRID for chew in chews for out in outs)

    def last_out(self, by: datetime) -> datetime | None:
        """Return the start of the last outing; an accident counts, since it emptied the bladder."""
        kinds = (HappeningKind.OUTING, HappeningKind.EMPTY, HappeningKind.ACCIDENT)
        outings = [block.start for block in self.held if block.kind is BlockKind.OUTING and block.start <= by]
        outings += [event.at for event in self.events if event.kind in kinds and event.at <= by]
        return max(outings, default=None)

    def waits_since(self, out: datetime | None) -> datetime | None:
        """Return since when the pup waits as if it had been emptied then; sooner than `out` where that was empty."""
        if out is None or not self._was_empty(out):
            return out
        return out + AFTER_EMPTY_OUTING - max(AFTER_EMPTY_OUTING, timedelta(minutes=self.frame.limits.awake_min))

    def _was_empty(self, out: datetime) -> bool:
        """Whether nothing was done at the outing that began then; it is written down during it or soon after."""
        empty = [one.at for one in self.events if one.kind is HappeningKind.EMPTY]
        return any(out <= at <= out + AFTER_EMPTY_OUTING for at in empty)

    def start(self, origin: datetime, more_awake: int) -> Start:
        """Return the pup's state at the origin, in slots."""
        out, nap = self.last_out(origin), self.nap(origin)
        waits = self.waits_since(out)
        woke = self._woke_at(origin) or origin
        if nap is not None:
            last = waits if waits is not None else nap.start
            resident = [block.end for block in self.held if block.kind is BlockKind.RESIDENT and block.end > origin]
            return Start(
                nap_since=(nap.start - origin) // GRID,
                last_out=(last - origin) // GRID,
                busy_until=max(((end - origin) // GRID for end in resident), default=0),
            )
        napped = max((block.end for block in self.held if block.kind is BlockKind.NAP), default=None)
        sessions = [b for b in self.held if b.kind is BlockKind.SESSION and (napped is None or b.start >= napped)]
        behaviour = sessions[-1].session.behaviour if sessions and sessions[-1].session is not None else ""
        before = Before(
            awake_for=-((woke - origin) // GRID),
            since_outing=NEVER if waits is None else -((waits - origin) // GRID),
            since_meal=self._since(BlockKind.MEAL, origin) if sizes_of(self.frame).meal_is_big else NEVER,
            since_session=self._since(BlockKind.SESSION, origin),
            must_go=out is None or any(at > out for at in self._triggers(woke, origin)) or woke > out,
            just_out=waits == out
            and any(b.kind is BlockKind.OUTING and b.end <= origin < b.end + GRID for b in self.held),
        )
        return Start(before=before, more_awake=more_awake, last_behaviour=behaviour)

    def _triggers(self, woke: datetime, origin: datetime) -> list[datetime]:
        kinds = (BlockKind.MEAL, BlockKind.PLAY, BlockKind.APPOINTMENT)
        return [
            block.end
            for block in self.held
            if block.kind in kinds
            and woke <= block.end <= origin
            and (block.kind is not BlockKind.APPOINTMENT or _comes_along(block))
        ]

    def _since(self, kind: BlockKind, origin: datetime) -> int:
        ends = [block.end for block in self.held if block.kind is kind and block.end <= origin]
        return (origin - max(ends)) // GRID if ends else NEVER

    def wanted(self, meals: tuple[int, ...]) -> Wanted:
        """Return what is still to be placed."""
        gone = Counter(block.kind for block in self.finished)
        resident = sum((_span(block) // GRID for block in self.held if block.kind is BlockKind.RESIDENT), start=0)
        left = max(0, slots(self.frame.resident_min or 0) - resident) * GRID_MIN
        met = Counter(block.words for block in self.finished if block.kind is BlockKind.EXPOSURE)
        exposures = []
        for exposure in self.frame.exposures:
            if met[exposure.words]:
                met[exposure.words] -= 1
            else:
                exposures.append(exposure)
        return Wanted(
            meals=meals,
            sessions=self._sessions(),
            exposures=tuple(exposures),
            plays=max(0, self.frame.play_min // PLAY_MIN - gone[BlockKind.PLAY]),
            chews=max(0, self.frame.chew_min // CHEW_MIN - gone[BlockKind.CHEW]),
            resident=resident_pieces(left),
        )

    def meals_left(self) -> tuple[int, ...]:
        """Return the places in the frame of the meals that are neither given nor skipped."""
        gone = [block for block in self.finished if block.kind is BlockKind.MEAL]
        numbers = {int(block.key.rpartition("-")[2]) - 1 for block in gone}
        return tuple(number for number in range(len(self.frame.meals)) if number not in numbers)

    def _sessions(self) -> tuple[PlannedSession, ...]:
        """Return the sessions not held, in the order of the plan before, those skipped or left out behind them."""
        left = list(self.frame.sessions)
        for block in self.held:
            if block.kind is BlockKind.SESSION and block.session in left:
                left.remove(block.session)
        ordered = []
        for block in self.to_come:
            if block.session is not None and block.session in left:
                left.remove(block.session)
                ordered.append(block.session)
        return (*ordered, *left)

    def _before(self, origin: datetime) -> Targets:
        def starts(kind: BlockKind) -> tuple[int | None, ...]:
            return tuple((block.start - origin) // GRID for block in self.to_come if block.kind is kind)

        return Targets(starts(BlockKind.MEAL), starts(BlockKind.SESSION))

    def written(self, plan: DayPlan) -> tuple[Written, Outline | None]:
        """Return the task of the rest of the day, with room made where what happened leaves none, and its first way."""
        origin, meals = self.origin, self.meals_left()
        for n_meals in range(len(meals), -1, -1):
            for covered_until in (origin, origin + COVERED_AT_MOST):
                for more_awake in MOST_MORE_AWAKE:
                    task = self.task(origin, more_awake, meals[:n_meals], covered_until)
                    outline = None if any(overlaps(task)) else lay_first(task)
                    if outline is not None:
                        return Written(task, self._cut(task), plan.blocks), outline
        return Written(self.task(origin, 0, meals, origin), self.finished, plan.blocks), None

    def _cut(self, task: Task) -> list[Block]:
        """Return the finished blocks; the resident dog's time that runs ends when the pup must go out."""
        latest = task.instant(first_starts(task)[1])
        cut = [b.kind is BlockKind.RESIDENT and b.start < task.origin and b.end > latest for b in self.finished]
        return [replace(b, end=latest) if is_cut else b for b, is_cut in zip(self.finished, cut, strict=True)]

    def task(self, origin: datetime, more_awake: int, meals: tuple[int, ...], covered_until: datetime) -> Task:
        """Return the task from the origin on; the pup is seen to in appointments that begin before `covered_until`."""
        start, frame = self.start(origin, more_awake), self.frame
        if start.nap_since is None or covered_until > origin:
            appointments = tuple(_covered(one, covered_until) for one in frame.appointments)
            frame = replace(frame, appointments=appointments)
        return build_task(frame, origin, start, self.wanted(meals), previous=self._before(origin))


def _covered(one: Appointment, until: datetime) -> Appointment:
    """Return an appointment that has begun by then, where the pup does not come along, as one with somebody there.

    A pup that is awake when the trainer leaves must be taken out by somebody: the plan says so instead of failing.
    """
    return replace(one, covered=True) if one.start < until and not one.comes_along else one


def _is_night(block: Block) -> bool:
    return block.key.startswith("night")


def _only_night(frame: DayFrame, day: _Day, plan: DayPlan) -> DayPlan:
    """Return the plan of a day whose last outing is over, late or due at once: then it is now.

    Where it is now, or was skipped, the night is laid again.
    """
    outings = [block for block in plan.blocks if block.kind is BlockKind.OUTING and not _is_night(block)]
    due = [block for block in day.to_come if block.kind is BlockKind.OUTING and not _is_night(block)]
    running = [b for b in day.to_come if b.kind is BlockKind.NIGHT and b.start < day.origin]
    finished = [*day.finished, *(replace(block, end=day.origin) for block in running if not due)]
    skipped = any(one.key == outings[-1].key and one.state is BlockState.SKIPPED for one in finished)
    kept: list[Block] = []
    if due:
        kept = [replace(due[-1], start=day.origin, end=day.origin + _span(due[-1]))]
        night = night_blocks(frame, kept[0].end, kept[0].start)
    elif skipped:
        night = night_blocks(frame, day.origin, day.last_out(day.origin) or day.origin)
    else:
        finished, night = day.finished, []
        kept = [block for block in plan.blocks if _is_night(block) and block not in day.finished]
    kept += with_keys(night, Keys.after(finished, []))
    blocks = tuple(sorted([*finished, *kept], key=lambda one: (one.start, one.end)))
    return DayPlan(plan.day, blocks, weigh(frame, blocks, plan.blocks), Solution("optimal", 0.0, 0.0))
