"""The shapes that an awake block can have, each of which keeps every rule inside the block by itself.

A day is a chain of awake blocks with naps between them. What may happen in a block, in which order and how far
apart, is worked out once, here; the solver only chooses a shape, a start and an end for each block. That is far
stronger than free intervals: the rules on triggers never reach the solver.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import permutations

from pupilage.core.planning.day.blocks import BlockKind
from pupilage.core.planning.day.rules import (
    AFTER_BIG_MEAL_MIN,
    AFTER_WAKING_MIN,
    REST_BETWEEN_SESSIONS_MIN,
)

GRID_MIN = 5
CALM = AFTER_BIG_MEAL_MIN // GRID_MIN
REST = REST_BETWEEN_SESSIONS_MIN // GRID_MIN
WOKEN = AFTER_WAKING_MIN // GRID_MIN

NEVER = 10_000
BUSY_KINDS = (BlockKind.SESSION, BlockKind.PLAY, BlockKind.EXPOSURE)


@dataclass(frozen=True)
class Sizes:
    """How long things last and what limits them, in slots of 5 minutes.

    awake_most: of an awake block; until_out, until_out_resting: from the start of an outing to the start of the next.
    """

    outing: int
    meal: int
    session: int
    exposure: int
    play: int
    chew: int
    awake_most: int
    until_out: int
    until_out_resting: int
    meal_is_big: bool


@dataclass(frozen=True)
class Before:
    """What came before a block, in slots before its start. The default is a pup that wakes from a nap.

    must_go: an outing is due at once; just_out: one has just ended, so that the crate may follow.
    """

    awake_for: int = 0
    since_outing: int = NEVER
    since_meal: int = NEVER
    since_session: int = NEVER
    must_go: bool = True
    just_out: bool = False


@dataclass(frozen=True)
class Piece:
    """Something at a fixed place in a block. at: slots after its start; appointment: its number, of an appointment."""

    kind: BlockKind
    at: int
    slots: int
    appointment: int | None = None

    @property
    def end(self) -> int:
        """Slots from the block's start to this piece's end."""
        return self.at + self.slots


@dataclass(frozen=True)
class Shape:
    """A kind of awake block. front: what stands at fixed places after its start; length: the shortest, to the nap.

    stretch: slots by which it may be longer, as loose time before the closing outing; closes: whether the closing
    outing is a separate one (else the front's last one serves); chew: slots of chewing between it and the nap.
    """

    front: tuple[Piece, ...]
    length: int
    stretch: int
    closes: bool
    chew: int
    awake_for: int = 0

    def count(self, kind: BlockKind) -> int:
        """Return how many pieces of a kind stand in the front."""
        return sum(piece.kind is kind for piece in self.front)

    def places(self, kind: BlockKind) -> tuple[int, ...]:
        """Return where the pieces of a kind begin."""
        return tuple(piece.at for piece in self.front if piece.kind is kind)

    @cached_property
    def n_outings(self) -> int:
        """Outings in the block."""
        return self.count(BlockKind.OUTING) + self.closes

    @cached_property
    def early(self) -> int:
        """Slots by which its sessions come too soon after waking, together."""
        return sum(max(0, WOKEN - self.awake_for - at) for at in self.places(BlockKind.SESSION))

    @property
    def is_bare(self) -> bool:
        """Whether there is nothing in it but one outing: what somebody else can do in the trainer's place."""
        only_out = all(piece.kind is BlockKind.OUTING for piece in self.front)
        return only_out and self.n_outings <= 1 and not self.chew

    @property
    def appointments(self) -> tuple[int, ...]:
        """The appointments to which the pup comes along in this block."""
        return tuple(piece.appointment for piece in self.front if piece.appointment is not None)


class _Laying:
    """Pieces laid one after the other, with the outings that the rules ask for."""

    def __init__(self, sizes: Sizes, before: Before) -> None:
        self.sizes = sizes
        self.at = 0
        self.out_at = -before.since_outing
        self.calm_from = CALM - before.since_meal
        self.session_from = REST - before.since_session
        self.pieces: list[Piece] = []
        if before.must_go or before.since_outing >= sizes.until_out:
            self.go_out()

    def go_out(self, at: int | None = None) -> None:
        """Lay an outing, here or at a later place."""
        at = self.at if at is None else at
        self.pieces.append(Piece(BlockKind.OUTING, at, self.sizes.outing))
        self.out_at, self.at = at, at + self.sizes.outing

    def lay(self, kind: BlockKind, slots: int, not_before: int = 0) -> bool:
        """Lay a piece as early as it may be; False where the pup would be too long without an outing."""
        start = self._earliest(kind, not_before)
        if start + slots - self.out_at > self.sizes.until_out:
            latest = min(max(self.at, start - self.sizes.outing), self.out_at + self.sizes.until_out)
            if latest < self.at or latest < self.out_at + self.sizes.outing:
                return False
            self.go_out(latest)
            start = self._earliest(kind, not_before)
            if start + slots - self.out_at > self.sizes.until_out:
                return False
        self.pieces.append(Piece(kind, start, slots))
        self.at = start + slots
        if kind is BlockKind.SESSION:
            self.session_from = self.at + REST
        if kind is BlockKind.MEAL:
            self.calm_from = self.at + (CALM if self.sizes.meal_is_big else 0)
        if kind in (BlockKind.MEAL, BlockKind.PLAY):
            self.go_out()
        return True

    def _earliest(self, kind: BlockKind, not_before: int) -> int:
        start = max(self.at, not_before)
        if kind in BUSY_KINDS:
            start = max(start, self.calm_from)
        return max(start, self.session_from) if kind is BlockKind.SESSION else start


def shapes_of(sizes: Sizes, before: Before, most: dict[BlockKind, int]) -> tuple[Shape, ...]:
    """Return every shape of a block that begins after `before`, with at most so many things of each kind.

    A block holds at most one meal, and play or an exposure but not both. There is always a shape, if only one outing.
    """
    limit = max(sizes.awake_most - before.awake_for, sizes.outing)
    found: dict[tuple[object, ...], Shape] = {}
    for order in _orders(most):
        for delay in _delays(order, sizes, before):
            laying = _Laying(sizes, before)
            waits = BlockKind.SESSION if BlockKind.SESSION in order else BlockKind.MEAL
            if all(laying.lay(kind, _slots(sizes, kind), delay if kind is waits else 0) for kind in order):
                for shape in _closings(laying, sizes, limit, before):
                    found.setdefault((shape.front, shape.closes, shape.chew), shape)
    if before != Before():
        for wait in range(1, sizes.until_out + 1):
            for shape in _waiting(sizes, before, limit, wait):
                found.setdefault((shape.front, shape.closes, shape.chew), shape)
    if not found:
        outing = Piece(BlockKind.OUTING, 0, sizes.outing)
        return (Shape((outing,), sizes.outing, 0, closes=False, chew=0, awake_for=before.awake_for),)
    return tuple(found.values())


def _waiting(sizes: Sizes, before: Before, limit: int, wait: int) -> Iterator[Shape]:
    """Yield shapes of a block that goes on with outings alone: one now, one after waiting, the closing one."""
    laying = _Laying(sizes, before)
    if not laying.pieces:
        laying.go_out()
    again = laying.at + wait
    if again - laying.out_at <= sizes.until_out:
        laying.go_out(again)
        yield from (shape for shape in _closings(laying, sizes, limit, before) if not shape.chew)
        yield from _closing_at_once(laying, sizes, limit, before)


def _closing_at_once(laying: _Laying, sizes: Sizes, limit: int, before: Before) -> Iterator[Shape]:
    length = laying.at + sizes.outing
    if length <= limit:
        yield Shape(tuple(laying.pieces), length, 0, closes=True, chew=0, awake_for=before.awake_for)


def _delays(order: tuple[BlockKind, ...], sizes: Sizes, before: Before) -> tuple[int, ...]:
    """Return the places before which sessions, and a meal alone in its block, do not begin: each is a shape."""
    if BlockKind.SESSION in order:
        return 0, max(0, WOKEN - before.awake_for)
    return tuple(range(2 * sizes.outing + 1)) if order == (BlockKind.MEAL,) else (0,)


def _slots(sizes: Sizes, kind: BlockKind) -> int:
    return {
        BlockKind.MEAL: sizes.meal,
        BlockKind.SESSION: sizes.session,
        BlockKind.PLAY: sizes.play,
        BlockKind.EXPOSURE: sizes.exposure,
    }[kind]


def _orders(most: dict[BlockKind, int]) -> Iterator[tuple[BlockKind, ...]]:
    for n_meals in range(min(1, most.get(BlockKind.MEAL, 0)) + 1):
        for n_sessions in range(min(2, most.get(BlockKind.SESSION, 0)) + 1):
            for outside in (None, BlockKind.PLAY, BlockKind.EXPOSURE):
                if outside is None or most.get(outside, 0):
                    things = [BlockKind.MEAL] * n_meals + [BlockKind.SESSION] * n_sessions
                    yield from sorted(set(permutations(things + ([outside] if outside else []))))


def _closings(laying: _Laying, sizes: Sizes, limit: int, before: Before) -> Iterator[Shape]:
    front, awake_for = tuple(laying.pieces), before.awake_for
    ends_out = front[-1].kind is BlockKind.OUTING if front else before.just_out
    for chew in (0, sizes.chew):
        length = laying.at + chew
        if ends_out and length <= limit:
            yield Shape(front, length, 0, closes=False, chew=chew, awake_for=awake_for)
        closing_at = laying.at + (1 if ends_out else 0)
        length = closing_at + sizes.outing + chew
        room = min(limit - length, laying.out_at + sizes.until_out - closing_at)
        if room >= 0:
            yield Shape(front, length, room, closes=True, chew=chew, awake_for=awake_for)


def along_shapes(sizes: Sizes, appointments: Sequence[tuple[int, int, int]]) -> tuple[Shape, ...]:
    """Return the shapes of a block in which the pup comes along to appointments: (number, start, end), in slots.

    They are in time order and too close for a nap between. Empty where the pup would be too long without an outing.
    """
    first = appointments[0][1]
    shapes = []
    for wait in range(sizes.awake_most):
        laid = _lay_along(sizes, appointments, sizes.outing + wait - first)
        if laid is None:
            continue
        front, at = laid
        forced = at - wait
        for chew in (0, sizes.chew):
            if at + chew <= max(sizes.awake_most, forced):
                shapes.append(Shape(front, at + chew, 0, closes=False, chew=chew))
    return tuple(shapes)


def _lay_along(
    sizes: Sizes, appointments: Sequence[tuple[int, int, int]], shift: int
) -> tuple[tuple[Piece, ...], int] | None:
    pieces = [Piece(BlockKind.OUTING, 0, sizes.outing)]
    out_at = 0
    for place, (number, start, end) in enumerate(appointments):
        start, end = start + shift, end + shift
        if place and start - pieces[-1].end >= sizes.outing:
            out_at = start - sizes.outing
            if out_at - pieces[-1].end > 1 and pieces[-1].end + sizes.outing <= out_at:
                pieces.append(Piece(BlockKind.OUTING, pieces[-1].end, sizes.outing))
            pieces.append(Piece(BlockKind.OUTING, out_at, sizes.outing))
        elif not place and start - sizes.outing >= sizes.outing and end - out_at > sizes.until_out:
            out_at = start - sizes.outing
            if out_at > sizes.until_out:
                return None
            pieces.append(Piece(BlockKind.OUTING, out_at, sizes.outing))
        if end - out_at > sizes.until_out:
            return None
        pieces.append(Piece(BlockKind.APPOINTMENT, start, end - start, number))
    pieces.append(Piece(BlockKind.OUTING, pieces[-1].end, sizes.outing))
    return tuple(pieces), pieces[-1].end


def along_shape_now(sizes: Sizes, before: Before, appointments: Sequence[tuple[int, int, int]]) -> Shape | None:
    """Return the block that goes on, with one appointment soon: no outing comes before it, since one just was."""
    (number, start, end), *others = appointments
    too_late = end + before.since_outing > sizes.until_out or start >= 2 * sizes.outing
    if others or start < 0 or too_late:
        return None
    front = (
        Piece(BlockKind.APPOINTMENT, start, end - start, number),
        Piece(BlockKind.OUTING, end, sizes.outing),
    )
    return Shape(front, end + sizes.outing, 0, closes=False, chew=0, awake_for=before.awake_for)
