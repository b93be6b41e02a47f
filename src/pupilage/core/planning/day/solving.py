"""The best timetable, exactly: what every way of going on costs, worked out from the day's end to its beginning.

Model: a day is a chain of awake blocks (`shapes`) and naps. With t the slot at which a block begins and n what is
still to be placed (meals, sessions, play, exposures, chewing), V(t, n) is the least cost of the rest of the day,

    W(e, n) = min over naps d of  nap cost(d) + V(e + d, n),    W(end, n) = price of what is left out,
    V(t, n) = min over shapes s and lengths l of  cost(s, l, t, n) + W(t + l, n − contents of s).

Every soft rule is a sum over blocks, so this is no approximation, and the way forward along V is the optimum with its
proof. All n are worked on at once, as arrays.
Source: Bellman 1957, Dynamic Programming, chapter 1; tests/external compares with CP-SAT on the same shapes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.first import Room, first_starts
from pupilage.core.planning.day.frame import GRID_MIN
from pupilage.core.planning.day.outline import Outline, Stay, place_resident
from pupilage.core.planning.day.rules import SPREAD_MIN, SoftRule
from pupilage.core.planning.day.shapes import Shape
from pupilage.core.planning.day.task import NAP, SHORTEST_NAP, Task
from pupilage.core.planning.day.weighing import quiet_slots

Costs = NDArray[np.int32]
Slots = NDArray[np.int64]
Counts = tuple[int, ...]

KINDS = (BlockKind.MEAL, BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE, BlockKind.CHEW)
"""The order in which things are counted."""

LEFT_OUT = (
    (BlockKind.SESSION, SoftRule.SESSION_LEFT_OUT),
    (BlockKind.PLAY, SoftRule.PLAY_LEFT_OUT),
    (BlockKind.EXPOSURE, SoftRule.EXPOSURE_LEFT_OUT),
    (BlockKind.CHEW, SoftRule.CHEW_BEFORE_NAP),
)
SPREAD = SPREAD_MIN // GRID_MIN

CENTS = 100
"""Costs are whole hundredths, so that equal plans are equal and 32 bits do."""

NO_WAY = 10**9
"""The cost of what cannot be; twice it and any cost still fit into 32 bits."""

BATCH = SHORTEST_NAP
"""So many slots are worked on at once: a block that begins in one of them ends, naps and goes on behind all."""


def counts_of(shape: Shape) -> Counts:
    """Return how many things of each of KINDS a shape holds."""
    return (*(shape.count(kind) for kind in KINDS[:-1]), int(bool(shape.chew)))


@dataclass(frozen=True)
class Prices:
    """What the soft rules charge. meal, session: [number of those left before it, slot]; quiet: by slot of play."""

    task: Task

    def _weight(self, rule: SoftRule) -> int:
        return round(CENTS * self.task.frame.weight(rule))

    @cached_property
    def meal(self) -> Costs:
        """Return the price of a meal by how many are left (1 and more; row 0 is empty) and slot."""
        rows = self._near(SoftRule.MEAL_TIMES, self.task.meal_targets, 0)
        return rows + self._kept(self.task.previous.meals, len(rows) - 1)

    @cached_property
    def session(self) -> Costs:
        """Return the price of a session by how many are left and slot."""
        rows = self._near(SoftRule.SESSIONS_SPREAD, self.task.session_targets, SPREAD)
        return rows + self._kept(self.task.previous.sessions, len(rows) - 1)

    def _near(self, rule: SoftRule, targets: tuple[int, ...], tolerance: int) -> Costs:
        slots = np.arange(self.task.end + 1)
        rows = [np.zeros(len(slots), dtype=np.int64)]
        rows += [self._weight(rule) * np.maximum(0, abs(slots - target) - tolerance) for target in reversed(targets)]
        return np.array(rows, dtype=np.int32)

    def _kept(self, before: tuple[int | None, ...], n: int) -> Costs:
        slots = np.arange(self.task.end + 1)
        rows = np.zeros((n + 1, len(slots)), dtype=np.int32)
        for number, target in enumerate(before[:n]):
            if target is not None:
                rows[n - number] = self._weight(SoftRule.KEEP_PLAN) * abs(slots - target)
        return rows

    @cached_property
    def quiet(self) -> Costs:
        """Return the price of a bout of play that begins at a slot."""
        loud: Costs = np.array(quiet_slots(self.task), dtype=np.int32)
        return loud * np.int32(self._weight(SoftRule.QUIET_HOURS))

    @cached_property
    def nap(self) -> Costs:
        """Return the price of a nap by its slots."""
        slots = np.arange(self.task.end + max(0, -(self.task.start.nap_since or 0)) + 1)
        off = np.maximum(0, np.maximum(NAP[0] - slots, slots - NAP[1]))
        return (self._weight(SoftRule.NAP_LENGTH) * off).astype(np.int32)

    @cached_property
    def awake(self) -> Costs:
        """Return the price of an awake block by its slots."""
        slots = np.arange(4 * self.task.end + 200)
        least, most = (minutes // GRID_MIN for minutes in self.task.frame.awake_min)
        short = self._weight(SoftRule.AWAKE_SHORT) * np.maximum(0, least - slots)
        long = self._weight(SoftRule.AWAKE_LONG) * np.maximum(0, slots - most)
        both: Costs = (short + long).astype(np.int32)
        return both

    def own(self, shape: Shape) -> int:
        """Return the price of a shape wherever it stands."""
        early = self._weight(SoftRule.SESSION_AFTER_WAKING) * shape.early
        return early + self._weight(SoftRule.FEWER_OUTINGS) * shape.n_outings

    def left_out(self, counts: tuple[int, ...]) -> Costs:
        """Return the price of what is left when the day ends, for every number left; meals must not be left."""
        total = np.zeros(counts, dtype=np.int32)
        for kind, rule in LEFT_OUT:
            axis = KINDS.index(kind)
            shape = [1] * len(counts)
            shape[axis] = counts[axis]
            total = total + (self._weight(rule) * np.arange(counts[axis], dtype=np.int32)).reshape(shape)
        total[1:] = NO_WAY
        return total

    def placed(self, shape: Shape, slots: Slots) -> Costs:
        """Return a shape's price at each start: [start, meals left behind it, sessions left behind it].

        NO_WAY where something would lie behind the day's end.
        """
        meals, sessions = shape.places(BlockKind.MEAL), shape.places(BlockKind.SESSION)
        price = np.full((len(slots), 1, 1), self.own(shape), dtype=np.int32)
        beyond = slots + shape.length > self.task.end
        at = np.minimum(slots, self.task.end - shape.length)
        if meals:
            price = price + self.meal[1:, at + meals[0]].T[:, :, None]
        n = len(self.session)
        for place, offset in enumerate(sessions):
            first = len(sessions) - place
            price = price + self.session[first : n - place, at + offset].T[:, None, :]
        for offset in shape.places(BlockKind.PLAY):
            price = price + self.quiet[at + offset][:, None, None]
        price[beyond] = NO_WAY
        return price


@dataclass(frozen=True)
class _Group:
    """Shapes that hold the same and can be as long: lengths from low to high. price: the least of them, by start."""

    counts: Counts
    low: int
    high: int
    price: Costs

    def serves_for(self, other: "_Group") -> bool:
        """Whether the other is never needed: this one holds the same, is as free in length and never dearer."""
        return (
            other is not self
            and self.counts == other.counts
            and self.low <= other.low
            and self.high >= other.high
            and bool((self.price <= other.price).all())
        )


def _groups(prices: Prices, shapes: Iterable[Shape], slots: Slots) -> list[_Group]:
    alike: dict[tuple[Counts, int, int], list[Shape]] = {}
    for shape in (shape for shape in shapes if shape.length <= prices.task.end):
        alike.setdefault((counts_of(shape), shape.length, shape.length + shape.stretch), []).append(shape)
    groups = [
        _Group(*key, np.minimum.reduce([prices.placed(shape, slots) for shape in members]))
        for key, members in alike.items()
    ]
    return [group for group in groups if not any(other.serves_for(group) for other in groups)]


class Outlook:
    """V and W of the module's text, for every slot and everything that may be left."""

    def __init__(self, task: Task, room: Room) -> None:
        self.task = task
        self.room = room
        self.prices = Prices(task)
        self.counts = tuple(task.n[kind] + 1 for kind in KINDS)
        self._longest = max(shape.length + shape.stretch for shape in (*task.shapes, *task.first_shapes))
        self._longest = max([self._longest, *(shape.length for _, shape in task.along)])
        rows = task.end + self._longest + 1
        self.begin = np.full((rows, *self.counts), NO_WAY, dtype=np.int32)
        self.rest = np.full((2, rows, *self.counts), NO_WAY, dtype=np.int32)
        self._fill()

    def _fill(self) -> None:
        task = self.task
        every = np.arange(task.end + 1)
        groups = _groups(self.prices, task.shapes, every)
        bare = _groups(self.prices, [shape for shape in task.shapes if shape.is_bare], every)
        self.rest[0, task.end] = self.prices.left_out(self.counts)
        for last in range(task.last_out, -1, -BATCH):
            slots = np.arange(max(0, last - BATCH + 1), last + 1)
            for end in slots[::-1] + 1:
                self._rest_from(int(end))
            until = np.array([self.room.free_until(int(slot)) for slot in slots])
            self._begin_at(slots, groups, until)
            until_bare = np.array([self.room.free_until(int(slot), bare=True) for slot in slots])
            if (until_bare > until).any():
                self._begin_at(slots, bare, until_bare)
            for start, shape in task.along:
                if start in slots:
                    at = np.array([start])
                    self._begin_at(at, _groups(self.prices, [shape], every), at + shape.length)
        self._rest_from(0)

    def _rest_from(self, end: int) -> None:
        """Fill W: the nap from here on, after a block with (1) and without (0) chewing at its end."""
        sizes = self.task.sizes
        wakes_by = min(self.room.wakes_by(end), self.task.last_out)
        for chew, slots in ((0, 0), (1, sizes.chew)):
            last = min(end + sizes.until_out_resting - sizes.outing - slots, wakes_by)
            if last >= end + SHORTEST_NAP:
                price = self.prices.nap[SHORTEST_NAP : last - end + 1]
                goes_on = self.begin[end + SHORTEST_NAP : last + 1]
                np.minimum((goes_on + _as_rows(price)).min(axis=0), NO_WAY, out=self.rest[chew, end])

    def _begin_at(self, slots: Slots, groups: list[_Group], until: Slots) -> None:
        """Fill V from these groups of shapes, for successive slots, with blocks that end by `until` of each."""
        after = [self._after(slots, chew, until) for chew in (0, 1)]
        least: dict[tuple[int, int, int], Costs] = {}
        into = self.begin[slots[0] : slots[-1] + 1]
        for group in groups:
            chew, low, high = group.counts[-1], group.low, group.high
            if (chew, low, high) not in least:
                least[chew, low, high] = after[chew][low : high + 1].min(axis=0)
            held = tuple(slice(0, size - n) for size, n in zip(self.counts, group.counts, strict=True))
            cost = least[chew, low, high][(slice(None), *held)] + group.price[slots][..., None, None, None]
            target = into[(slice(None), *(slice(n, None) for n in group.counts))]
            np.minimum(target, cost, out=target)

    def _after(self, slots: Slots, chew: int, until: Slots) -> Costs:
        """Return what comes behind a block by its length and the slot at which it begins."""
        after = np.full((self._longest + 1, len(slots), *self.counts), NO_WAY, dtype=np.int32)
        for length in range(1, self._longest + 1):
            after[length] = self.rest[chew, slots[0] + length : slots[-1] + length + 1]
            after[length] += self.prices.awake[length]
            after[length, slots + length > until] = NO_WAY
        return after

    def best(self) -> tuple[float, Outline | None]:
        """Return the least cost of the day and the outline that has it; None where there is none."""
        left = tuple(size - 1 for size in self.counts)
        slot, cost, shapes = self._start(left)
        if cost >= NO_WAY:
            return float("inf"), None
        stays: list[Stay] = []
        while not stays or stays[-1].end < self.task.end:
            stay, slot, left = self._step(slot, left, shapes)
            stays.append(stay)
            shapes = self.task.shapes
        return cost / CENTS, Outline(tuple(stays), place_resident(tuple(stays), self.task))

    def _start(self, left: Counts) -> tuple[int, int, tuple[Shape, ...]]:
        task = self.task
        if task.start.nap_since is None:
            cost = min((total for total, *_ in self._ways(0, left, task.first_shapes)), default=NO_WAY)
            return 0, cost, task.first_shapes
        first, last = first_starts(task)
        costs = {
            slot: int(self.prices.nap[slot - task.start.nap_since]) + int(self.begin[(slot, *left)])
            for slot in range(first, min(last, self.room.wakes_by(0), task.last_out) + 1)
        }
        slot = min(costs, key=lambda slot: (costs[slot], slot), default=first)
        return slot, costs.get(slot, NO_WAY), task.shapes

    def _step(self, slot: int, left: Counts, shapes: tuple[Shape, ...]) -> tuple[Stay, int, Counts]:
        """Return the best block from here, where the next one begins, and what is left behind it."""
        _, _, stay, after = min(self._ways(slot, left, shapes), key=lambda way: way[:2])
        if stay.end == self.task.end:
            return stay, stay.end, after
        longest = min(
            self.task.longest_nap(stay.shape), min(self.room.wakes_by(stay.end), self.task.last_out) - stay.end
        )
        naps = range(SHORTEST_NAP, longest + 1)
        costs = [int(self.prices.nap[nap]) + int(self.begin[(stay.end + nap, *after)]) for nap in naps]
        usual = (NAP[0] + NAP[1]) // 2
        nap = min(zip(costs, naps, strict=True), key=lambda one: (one[0], abs(one[1] - usual)))[1]
        return stay, stay.end + nap, after

    def _ways(self, slot: int, left: Counts, shapes: Iterable[Shape]) -> Iterator[tuple[int, int, Stay, Counts]]:
        """Yield every block that may begin here: the day's cost with it, its rank among equals, and what is left."""
        until, until_bare = self.room.free_until(slot), self.room.free_until(slot, bare=True)
        own = [shape for start, shape in self.task.along if start == slot]
        start = np.array([slot])
        for rank, shape in enumerate([*own, *shapes]):
            after = tuple(n - held for n, held in zip(left, counts_of(shape), strict=True))
            latest = self.task.end if shape.appointments else until_bare if shape.is_bare else until
            if min(after) < 0 or slot + shape.length > latest:
                continue
            price = self._price(shape, start, after)
            for length in range(shape.length, min(shape.length + shape.stretch, latest - slot) + 1):
                awake = int(self.prices.awake[length + shape.awake_for])
                total = price + awake + int(self.rest[(int(bool(shape.chew)), slot + length, *after)])
                yield total, rank, Stay(slot, slot + length, shape), after

    def _price(self, shape: Shape, start: Slots, after: Counts) -> int:
        price = self.prices.placed(shape, start)[0]
        meals = after[0] if price.shape[0] > 1 else 0
        sessions = after[1] if price.shape[1] > 1 else 0
        return int(price[meals, sessions])


def _as_rows(price: Costs) -> Costs:
    """Return prices by length so that they add to arrays by length and everything left."""
    return price.reshape(-1, *[1] * len(KINDS))
