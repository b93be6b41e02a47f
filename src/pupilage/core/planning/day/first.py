"""A first plan at once, without the solver: block after block, never into a corner.

Which slots a block may begin at so that the rest of the day can still be completed is worked out backwards first.
So the way forward may be greedy and still keeps every hard rule.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from operator import sub

from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.frame import GRID_MIN
from pupilage.core.planning.day.outline import Outline, Stay, place_resident
from pupilage.core.planning.day.rules import SoftRule
from pupilage.core.planning.day.shapes import Shape
from pupilage.core.planning.day.task import NAP, SHORTEST_NAP, Task

TRIED_NAPS = (12, 15, 18, 24)
USUAL_NAP = 18
PACED = (BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE, BlockKind.CHEW)
PACE = {BlockKind.SESSION: 60.0, BlockKind.PLAY: 15.0, BlockKind.EXPOSURE: 25.0, BlockKind.CHEW: 5.0}
"""What falling behind the day's even pace by one thing costs, beside the weights of the rules."""

LATE_MEAL = 5.0
"""What each slot costs by which a meal that is still to come is late already, for every such meal."""


class Room:
    """Which blocks fit where: appointments keep their place, and the day can be completed behind each block."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.along = dict[int, list[Shape]]()
        for start, shape in task.along:
            self.along.setdefault(start, []).append(shape)
        self._lengths = {meal: _lengths_mask(task, meal=meal) for meal in (False, True)}
        self._starts = self._reach()

    def free_until(self, slot: int, *, bare: bool = False) -> int:
        """Return the slot until which a block that begins here meets no appointment; `slot` if it does at once."""
        ends = [max(slot, one.start) for one in self.task.busy if one.end > slot and not (bare and one.covered)]
        return min([self.task.end, *ends])

    def wakes_by(self, slot: int) -> int:
        """Return the slot by which a nap from here on ends at the latest: the pup comes along to an appointment."""
        return min([self.task.end, *(one.start for one in self.task.busy if one.comes_along and one.end > slot)])

    def completes(self, slot: int, n_meals: int) -> bool:
        """Whether a block may begin at the slot with so many meals still to be given."""
        return 0 <= n_meals < len(self._starts) and slot >= 0 and bool(self._starts[n_meals] >> slot & 1)

    def _reach(self) -> list[int]:
        """Return for each number of meals the slots from which the day can be completed, as bits, from the end on."""
        n = self.task.n[BlockKind.MEAL] + 1
        starts, ends = [0] * n, [0] * n
        ends[0] = 1 << self.task.end
        for slot in range(self.task.last_out, -1, -1):
            for n_meals in range(n):
                if self._naps_on(starts[n_meals], slot):
                    ends[n_meals] |= 1 << slot
            for n_meals in range(n):
                if self._begins(ends, slot, n_meals):
                    starts[n_meals] |= 1 << slot
        return starts

    def _naps_on(self, starts: int, end: int) -> bool:
        longest = self.task.sizes.until_out_resting - self.task.sizes.outing
        first, last = end + SHORTEST_NAP, min(end + longest, self.wakes_by(end))
        return last >= first and bool(starts >> first & ((1 << (last - first + 1)) - 1))

    def _begins(self, ends: list[int], slot: int, n_meals: int) -> bool:
        until = (1 << (self.free_until(slot) + 1)) - 1
        if ends[n_meals] & self._lengths[False] << slot & until:
            return True
        if n_meals and ends[n_meals - 1] & self._lengths[True] << slot & until:
            return True
        if any(ends[n_meals] >> (slot + shape.length) & 1 for shape in self.along.get(slot, ()) if not shape.chew):
            return True
        bare = slot + self.task.sizes.outing
        return bool(ends[n_meals] >> bare & 1) and bare <= self.free_until(slot, bare=True)


def _lengths_mask(task: Task, *, meal: bool) -> int:
    """Return how long a block with or without a meal can be, as bits: with nothing else, which may have run out."""
    mask = 0
    for shape in task.shapes:
        needs = any(piece.kind in PACED for piece in shape.front) or shape.chew
        if not needs and bool(shape.count(BlockKind.MEAL)) is meal:
            mask |= ((1 << (shape.stretch + 1)) - 1) << shape.length
    return mask


@dataclass(frozen=True)
class _Kind:
    """A shape and what the greedy way needs to know of it. n: of PACED, in order."""

    shape: Shape
    meal_at: int | None
    n: tuple[int, ...]
    cost: float
    lengths: tuple[int, ...]


def _kinds(task: Task, shapes: Iterable[Shape]) -> list[_Kind]:
    """Return the cheapest shape of each content and length."""
    best: dict[tuple[object, ...], _Kind] = {}
    for shape in shapes:
        meal_at = next(iter(shape.places(BlockKind.MEAL)), None)
        n = tuple(bool(shape.chew) if kind is BlockKind.CHEW else shape.count(kind) for kind in PACED)
        cost = task.frame.weight(SoftRule.FEWER_OUTINGS) * shape.n_outings
        cost += task.frame.weight(SoftRule.SESSION_AFTER_WAKING) * shape.early
        usual, most = task.frame.awake_min[0] // GRID_MIN, shape.length + shape.stretch
        lengths = tuple(sorted({shape.length, min(most, max(shape.length, usual))}))
        kind = _Kind(shape, meal_at, n, cost, lengths)
        key = (n, meal_at is None, shape.closes, shape.length)
        if key not in best or cost < best[key].cost:
            best[key] = kind
    return list(best.values())


@dataclass(frozen=True)
class _Left:
    """Where the next block begins, and what is still to be placed: meals, and the kinds of PACED in order."""

    slot: int
    meals: int
    n: tuple[int, ...]


def lay_first(task: Task, room: Room | None = None) -> Outline | None:
    """Return an outline that keeps every hard rule, or None where there is none."""
    room = room or Room(task)
    start = _first_start(task, room)
    if start is None:
        return None
    usual = _kinds(task, task.shapes)
    kinds = usual if task.start.nap_since is not None else _kinds(task, task.first_shapes)
    left, stays = _Left(start, task.n[BlockKind.MEAL], tuple(task.n[kind] for kind in PACED)), list[Stay]()
    while not stays or stays[-1].end < task.end:
        step = _best_step(task, room, left, kinds)
        if step is None:
            return None
        stay, left = step
        stays.append(stay)
        kinds = usual
    return Outline(tuple(stays), place_resident(tuple(stays), task))


def _best_step(task: Task, room: Room, left: _Left, kinds: list[_Kind]) -> tuple[Stay, _Left] | None:
    kinds = [*_kinds(task, room.along.get(left.slot, ())), *kinds]
    for thorough in (False, True):
        best = min(_steps(task, room, left, kinds, thorough=thorough), key=lambda step: step[0], default=None)
        if best is not None:
            return best[1], best[2]
    return None


def first_starts(task: Task) -> tuple[int, int]:
    """Return the first and the last slot at which the first block may begin."""
    if task.start.nap_since is None:
        return 0, 0
    last = max(0, task.start.last_out + task.sizes.until_out_resting)
    return min(last, max(task.start.busy_until, task.start.nap_since + SHORTEST_NAP)), last


def _first_start(task: Task, room: Room) -> int | None:
    if task.start.nap_since is None:
        return 0
    first, last = first_starts(task)
    last = min(last, room.wakes_by(0))
    slots = [slot for slot in range(first, last + 1) if room.completes(slot, task.n[BlockKind.MEAL])]
    usual = task.start.nap_since + (NAP[0] + NAP[1]) // 2
    return min(slots, key=lambda slot: (abs(slot - usual), slot), default=None)


def _steps(
    task: Task, room: Room, left: _Left, kinds: Iterable[_Kind], *, thorough: bool
) -> Iterator[tuple[float, Stay, _Left]]:
    """Yield every block that may come next, with its cost and what is left behind it and a nap."""
    until, until_bare = room.free_until(left.slot), room.free_until(left.slot, bare=True)
    for kind in kinds:
        shape = kind.shape
        n = tuple(map(sub, left.n, kind.n))
        meals = left.meals - (kind.meal_at is not None)
        if meals < 0 or min(n) < 0:
            continue
        latest = task.end if shape.appointments else until_bare if shape.is_bare else until
        cost = kind.cost + _meal_cost(task, left, kind)
        lengths = range(shape.length, shape.length + shape.stretch + 1) if thorough else kind.lengths
        for length in lengths:
            stay = Stay(left.slot, left.slot + length, shape)
            if stay.end <= latest:
                yield from _naps_after(task, room, stay, _Left(stay.end, meals, n), cost=cost)


def _naps_after(task: Task, room: Room, stay: Stay, left: _Left, *, cost: float) -> Iterator[tuple[float, Stay, _Left]]:
    if stay.end == task.end:
        if left.meals == 0 and not stay.shape.chew:
            yield cost + sum(PACE[kind] * n for kind, n in zip(PACED, left.n, strict=True)), stay, left
        return
    for nap in _naps(task, room, stay, left.meals):
        after = _Left(stay.end + nap, left.meals, left.n)
        yield cost + _behind(task, after) + abs(nap - USUAL_NAP) * 0.5, stay, after


def _naps(task: Task, room: Room, stay: Stay, n_meals: int) -> list[int]:
    longest = min(task.longest_nap(stay.shape), room.wakes_by(stay.end) - stay.end)
    naps = [nap for nap in TRIED_NAPS if nap <= longest and room.completes(stay.end + nap, n_meals)]
    if naps:
        return naps
    naps = [nap for nap in range(SHORTEST_NAP, longest + 1) if room.completes(stay.end + nap, n_meals)]
    return sorted(naps, key=lambda nap: abs(nap - USUAL_NAP))[:2]


def _meal_cost(task: Task, left: _Left, kind: _Kind) -> float:
    if kind.meal_at is None:
        return 0.0
    target = task.meal_targets[len(task.meal_targets) - left.meals]
    return task.frame.weight(SoftRule.MEAL_TIMES) * abs(left.slot + kind.meal_at - target)


def _behind(task: Task, left: _Left) -> float:
    """Return what it costs to be behind the day's pace, or too far ahead of it, when the next block begins."""
    share = 1.0 - left.slot / max(1, task.last_out)
    cost = sum(PACE[kind] * abs(n - task.n[kind] * share) for kind, n in zip(PACED, left.n, strict=True))
    for target in task.meal_targets[len(task.meal_targets) - left.meals :]:
        cost += LATE_MEAL * max(0, left.slot + 2 - target)
    return cost
