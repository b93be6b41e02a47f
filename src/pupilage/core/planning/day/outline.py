"""A plan as the solver holds it: awake blocks with their shapes, and the resident dog's pieces of time."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.shapes import Piece, Shape
from pupilage.core.planning.day.task import Task


@dataclass(frozen=True)
class Stay:
    """One awake block. start, end: slots, from waking to the nap (the chewing before it included)."""

    start: int
    end: int
    shape: Shape

    def pieces(self, outing: int) -> Iterator[Piece]:
        """Yield what is in the block, with the places counted from slot 0; outing: slots of one."""
        for piece in self.shape.front:
            yield Piece(piece.kind, self.start + piece.at, piece.slots, piece.appointment)
        if self.shape.closes:
            yield Piece(BlockKind.OUTING, self.end - self.shape.chew - outing, outing)
        if self.shape.chew:
            yield Piece(BlockKind.CHEW, self.end - self.shape.chew, self.shape.chew)


@dataclass(frozen=True)
class Outline:
    """The awake blocks in time order, and the resident dog's time: (start, slots) each."""

    stays: tuple[Stay, ...]
    resident: tuple[tuple[int, int], ...] = ()


def free_rests(stays: tuple[Stay, ...], task: Task) -> list[tuple[int, int]]:
    """Return the stretches of the naps in which the trainer has no appointment: (start, end) in slots."""
    found = []
    rests = [(earlier.end, later.start) for earlier, later in pairwise(stays)]
    if task.start.nap_since is not None:
        rests.insert(0, (task.start.busy_until, stays[0].start))
    for start, end in rests:
        for one in task.busy:
            if one.start < end and one.end > start:
                if one.start > start:
                    found.append((start, one.start))
                start = max(start, one.end)
        if start < end:
            found.append((start, end))
    return found


def place_resident(stays: tuple[Stay, ...], task: Task) -> tuple[tuple[int, int], ...]:
    """Return the resident dog's pieces in the longest free stretches of the naps, each in the middle of one."""
    rests = sorted(free_rests(stays, task), key=lambda rest: (rest[0] - rest[1], rest[0]))
    placed = []
    for length, (start, end) in zip(sorted(task.wanted.resident, reverse=True), rests, strict=False):
        taken = min(length, end - start)
        placed.append((start + (end - start - taken) // 2, taken))
    return tuple(sorted(placed))
