"""From an outline to the blocks of a timetable: instants, keys, reasons, and which session, meal and exposure it is."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime

from pupilage.core.planning.day.blocks import Block, BlockKind
from pupilage.core.planning.day.frame import GRID, DayFrame, grid_down
from pupilage.core.planning.day.ordering import order_sessions
from pupilage.core.planning.day.outline import Outline, Stay
from pupilage.core.planning.day.shapes import Piece
from pupilage.core.planning.day.task import Task, slots
from pupilage.core.words import Sentence, sentence

COMES_ALONG = sentence("The pup comes along.")


@dataclass
class Keys:
    """Hands out keys: the ones of blocks that were planned before, in order, and then new ones."""

    free: dict[str, list[str]] = field(default_factory=dict)
    n: dict[str, int] = field(default_factory=dict)

    @classmethod
    def after(cls, finished: Iterable[Block], open_blocks: Iterable[Block]) -> "Keys":
        """Return keys that repeat none of the finished blocks and use those of the open ones again."""
        keys, kept = cls(), list(open_blocks)
        for block in [*finished, *kept]:
            stem, _, number = block.key.rpartition("-")
            if stem and number.isdecimal():
                keys.n[stem] = max(keys.n.get(stem, 0), int(number))
        for block in sorted(kept, key=lambda one: one.start):
            keys.free.setdefault(block.key.rpartition("-")[0], []).append(block.key)
        return keys

    def take(self, stem: str) -> str:
        """Return the next key of this stem."""
        if self.free.get(stem):
            return self.free[stem].pop(0)
        self.n[stem] = self.n.get(stem, 0) + 1
        return f"{stem}-{self.n[stem]}"


def write_blocks(task: Task, outline: Outline, keys: Keys | None = None) -> tuple[Block, ...]:
    """Return the blocks of an outline in time order, the night after it included."""
    blocks = [*_nap_that_goes_on(task, outline), *_stays(task, outline), *_resident(task, outline)]
    blocks += _appointments(task, outline)
    blocks += night_blocks(task.frame, task.instant(task.end), task.frame.last_outing_at)
    return with_keys(sorted(blocks, key=_order), keys or Keys())


def with_keys(blocks: Iterable[Block], keys: Keys) -> tuple[Block, ...]:
    """Return the blocks, in this order, with keys; blocks of the night have their own."""
    return tuple(replace(block, key=keys.take(block.key or block.kind.value)) for block in blocks)


def _order(block: Block) -> tuple[datetime, datetime]:
    return block.start, block.end


def _block(task: Task, piece: Piece, reason: Sentence) -> Block:
    return Block("", piece.kind, task.instant(piece.at), task.instant(piece.end), reason=reason)


def _stays(task: Task, outline: Outline) -> Iterator[Block]:
    per_block = [stay.shape.count(BlockKind.SESSION) for stay in outline.stays]
    goes_on = task.start.last_behaviour if task.start.nap_since is None else ""
    sessions = order_sessions(task.wanted.sessions, per_block, last=goes_on, keep=bool(task.previous.sessions))
    meals = iter(task.wanted.meals)
    exposures = iter(task.wanted.exposures)
    for place, stay in enumerate(outline.stays):
        numbers = iter(sessions[place])
        pieces = list(stay.pieces(task.sizes.outing))
        for number, piece in enumerate(pieces):
            match piece.kind:
                case BlockKind.SESSION:
                    if (chosen := next(numbers, None)) is not None:
                        yield _session(task, piece, chosen)
                case BlockKind.MEAL:
                    yield _meal(task, piece, next(meals))
                case BlockKind.EXPOSURE:
                    exposure = next(exposures)
                    short = Piece(piece.kind, piece.at, slots(exposure.minutes))
                    reason = sentence("To be met at the pup's own pace, with food.")
                    yield replace(_block(task, short, reason), words=exposure.words)
                case BlockKind.APPOINTMENT:
                    yield _along(task, piece)
                case BlockKind.OUTING:
                    yield _block(task, piece, _why_out(task, pieces, number, stay, place))
                case BlockKind.CHEW:
                    yield _block(task, piece, sentence("Something to chew brings calm before the nap."))
                case _:
                    yield _block(task, piece, sentence("Play together."))
        if place + 1 < len(outline.stays):
            nap = Piece(BlockKind.NAP, stay.end, outline.stays[place + 1].start - stay.end)
            yield _block(task, nap, _why_nap(task, stay))


def _session(task: Task, piece: Piece, number: int) -> Block:
    session = task.wanted.sessions[number]
    short = Piece(piece.kind, piece.at, slots(session.minutes))
    return replace(_block(task, short, sentence("A session, with rest before the next.")), session=session)


def _meal(task: Task, piece: Piece, number: int) -> Block:
    meal = task.frame.meals[number]
    reason = sentence("Meal {number} of {n}.", number=number + 1, n=len(task.frame.meals))
    return replace(_block(task, piece, reason), bowl_g=meal.bowl_g, pouch_g=meal.pouch_g)


def _along(task: Task, piece: Piece) -> Block:
    words = task.frame.appointments[piece.appointment].words if piece.appointment is not None else ""
    return replace(_block(task, piece, COMES_ALONG), words=words)


def _why_out(task: Task, pieces: list[Piece], number: int, stay: Stay, place: int) -> Sentence:
    piece = pieces[number]
    if any(one.covered and one.start < piece.end and piece.at < one.end for one in task.busy):
        return sentence("The trainer is away: somebody else takes the pup out.")
    if piece.at == task.last_out and stay.end == task.end:
        return sentence("The last outing of the day.")
    if number == 0 and stay.shape.awake_for:
        return sentence("The pup is awake and needs out now.")
    if number == 0:
        begins_day = place == 0 and task.start.nap_since is None and task.origin <= task.frame.wake_at
        return sentence("The pup wakes from the night.") if begins_day else sentence("The pup wakes from its nap.")
    match pieces[number - 1].kind:
        case BlockKind.MEAL:
            return sentence("The pup has eaten.")
        case BlockKind.PLAY:
            return sentence("The pup has played.")
        case BlockKind.APPOINTMENT:
            return sentence("After the appointment.")
    if all(later.kind is BlockKind.CHEW for later in pieces[number + 1 :]):
        return sentence("Before the crate.")
    return sentence("No later than {minutes} minutes after the last outing.", minutes=task.frame.limits.awake_min)


def _why_nap(task: Task, stay: Stay) -> Sentence:
    minutes = 5 * (stay.end - stay.start + stay.shape.awake_for)
    return sentence(
        "Awake for {minutes} minutes; at {age} weeks {most} at a stretch are the most.",
        minutes=minutes,
        age=int(task.frame.age_weeks),
        most=task.frame.awake_min[1],
    )


def _nap_that_goes_on(task: Task, outline: Outline) -> Iterator[Block]:
    since = task.start.nap_since
    if since is not None and outline.stays[0].start > since:
        nap = Piece(BlockKind.NAP, since, outline.stays[0].start - since)
        yield _block(task, nap, sentence("The nap goes on."))


def _resident(task: Task, outline: Outline) -> Iterator[Block]:
    for start, length in outline.resident:
        reason = sentence("The resident dog's own time, while the pup naps.")
        yield _block(task, Piece(BlockKind.RESIDENT, start, length), reason)


def _appointments(task: Task, outline: Outline) -> Iterator[Block]:
    """Yield the appointments during which the pup rests, as the trainer entered them."""
    for one in (*task.busy, *task.outside):
        if not one.comes_along:
            appointment = task.frame.appointments[one.number]
            reason = sentence("The trainer is busy: the pup rests.")
            piece = Piece(BlockKind.APPOINTMENT, one.start, one.end - one.start)
            yield replace(_block(task, piece, reason), words=appointment.words)


def night_blocks(frame: DayFrame, begins: datetime, last_out: datetime) -> list[Block]:
    """Return the night from `begins`, the end of the last outing, to the next waking: asleep, and outings.

    As few outings as keep every two of them, from start to start, within `limits.night_min`, evenly spread.
    """
    wakes = frame.next_wake_at
    outing, most = slots(frame.outing_min) * GRID, slots(frame.limits.night_min - 4) * GRID
    n_legs = -(-(wakes - last_out) // most)
    starts = sorted({max(begins, grid_down(last_out + (wakes - last_out) * leg / n_legs)) for leg in range(1, n_legs)})
    blocks, asleep = [], begins
    for start in starts:
        if start > asleep:
            blocks.append(Block("night", BlockKind.NIGHT, asleep, start, reason=sentence("Asleep for the night.")))
        why = sentence("Asleep no longer than {hours:.1f} hours without an outing.", hours=frame.limits.night_min / 60)
        blocks.append(Block("night-outing", BlockKind.OUTING, start, start + outing, reason=why))
        asleep = start + outing
    if wakes > asleep:
        blocks.append(Block("night", BlockKind.NIGHT, asleep, wakes, reason=sentence("Asleep for the night.")))
    return blocks
