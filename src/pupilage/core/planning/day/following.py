"""What became of a timetable: which block is due now, and which blocks the log says have happened."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.clock import require_aware
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.frame import grid_up

STILL_DUE = timedelta(minutes=45)
"""A block that ended this long ago without a word is no longer asked about at the top of the page."""

NEAR = STILL_DUE
NEAR_MEAL = timedelta(minutes=90)
"""How far from its block an entry of the log still belongs to it: a chosen bound, common practice, no source."""

ASKED_FIRST = (BlockKind.OUTING, BlockKind.MEAL)


@dataclass(frozen=True)
class Due:
    """What to do now and what comes next; None where there is nothing."""

    now: Block | None
    then: Block | None


@dataclass(frozen=True)
class Happening:
    """Something that was written down: a care event, or a session of a behaviour. id: of the care event, else ""."""

    kind: BlockKind
    at: datetime
    id: str = ""
    behaviour: str = ""


def due_of(blocks: Sequence[Block], now: datetime) -> Due:
    """Return the block that is due at `now` and the one after it.

    Due is what has begun and is not ticked off: an outing or a meal first, then what goes on, then what ended last.
    """
    now = require_aware(now, "now")
    open_ones = [block for block in blocks if block.state is BlockState.PLANNED]
    begun = [b for b in open_ones if b.start <= now and b.end > now - STILL_DUE and b.kind is not BlockKind.NIGHT]
    coming = [block for block in open_ones if block.start > now]
    current = max(begun, key=lambda b: (b.kind in ASKED_FIRST, b.end > now, b.start), default=None)
    return Due(current, min(coming, key=lambda block: block.start, default=None))


def happenings_of(events: Iterable[CareEvent]) -> list[Happening]:
    """Return what the care log, as it stands, says that blocks can be about."""
    return [Happening(kind, event.at, event.id) for event in events if (kind := _block_kind(event)) is not None]


def _block_kind(event: CareEvent) -> BlockKind | None:
    match event.kind, event.detail:
        case CareKind.OUTING, _:
            return BlockKind.OUTING
        case CareKind.MEAL, _:
            return BlockKind.MEAL
        case ((CareKind.NAP | CareKind.CRATE), CareDetail.END):
            return BlockKind.NAP
        case CareKind.PLAY, (CareDetail.PLAIN | CareDetail.END):
            return BlockKind.PLAY
        case CareKind.CHEW, (CareDetail.PLAIN | CareDetail.END):
            return BlockKind.CHEW
    return None


def follow_log(
    blocks: Sequence[Block], happenings: Iterable[Happening], *, taken: Iterable[str] = ()
) -> dict[str, Happening]:
    """Return, by the key of a block that is still planned, what was written down about it.

    Each entry belongs to one block, the nearest in time of its kind; sessions by their behaviour too. taken: ids of
    entries that belong to a block already.
    """
    left = {block.key: block for block in blocks if block.state is BlockState.PLANNED}
    used = set(taken)
    found: dict[str, Happening] = {}
    for one in sorted(happenings, key=lambda happening: happening.at):
        near = [block for block in left.values() if _is_about(one, block)]
        if not near or (one.id and one.id in used):
            continue
        block = min(near, key=lambda b: (_distance(one.at, b), b.start))
        found[block.key] = one
        del left[block.key]
    return found


def mark(blocks: Sequence[Block], found: Mapping[str, Happening]) -> tuple[Block, ...]:
    """Return the blocks, those that were found in the log done, and no later than it says."""
    return tuple(done_at(b, found[b.key].at) if b.key in found else b for b in blocks)


def done_at(block: Block, at: datetime) -> Block:
    """Return a block as done at an instant: at its planned time where that is over, else up to the instant.

    A nap that ended early is as long as it was; anything else that was done early lies wholly before the instant.
    """
    if block.end <= at:
        return replace(block, state=BlockState.DONE)
    end = grid_up(require_aware(at))
    is_begun = block.start < end
    start = block.start if is_begun else end - (block.end - block.start)
    return replace(block, start=start, end=end, state=BlockState.DONE)


def _is_about(one: Happening, block: Block) -> bool:
    if one.kind is not block.kind:
        return False
    if block.session is not None and one.behaviour != block.session.behaviour:
        return False
    return _distance(one.at, block) <= (NEAR_MEAL if block.kind is BlockKind.MEAL else NEAR)


def _distance(at: datetime, block: Block) -> timedelta:
    """Return how far an instant lies outside a block; a nap is over at its end."""
    if block.kind is BlockKind.NAP:
        return abs(at - block.end)
    return max(block.start - at, at - block.end, timedelta())
