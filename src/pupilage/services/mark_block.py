"""Ticking a block off, or saying that it was skipped; what it was about goes into the care log with it."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.clock import offset_min
from pupilage.core.errors import Conflict, InvalidInput, NotFound
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.following import done_at
from pupilage.services.auditing import audit
from pupilage.services.log_care import CareEntry, add_entry, take_back_entry
from pupilage.storage.models import CareEvent as CareRow
from pupilage.storage.models import DayPlan as PlanRow
from pupilage.storage.models import PlanBlock, Programme
from pupilage.storage.queries.programmes import programme_writable_by

JUST_NOW = timedelta(minutes=45)
"""A tick this long after a block's end means now; a later one is written for the time of the plan, and says so."""

TICKED_LATER = "Ticked off later: the time is that of the timetable."

ENTRY_OF = {
    BlockKind.OUTING: CareKind.OUTING,
    BlockKind.MEAL: CareKind.MEAL,
    BlockKind.NAP: CareKind.NAP,
    BlockKind.PLAY: CareKind.PLAY,
    BlockKind.CHEW: CareKind.CHEW,
}
"""What ticking a block off writes. A session's tries are its own log, and the other blocks have none."""

_WORD_OF = {BlockKind.NAP: CareDetail.END}
"""A nap that is done has ended; when it began is not known, and is not made up."""


@dataclass(frozen=True)
class Mark:
    """What became of a block. PLANNED takes an earlier mark back.

    detail: of an outing, what was done there; amount_g: of a meal, what was eaten, None for what was in the bowl.
    """

    key: str
    state: BlockState
    detail: CareDetail = CareDetail.PLAIN
    amount_g: float | None = None


def mark_block(actor: Actor, programme_id: UUID, day: date, mark: Mark, *, now: datetime) -> None:
    """Write what became of a block, and the entry of the care log that goes with it. Idempotent.

    Of two phones at once one writes; the other finds the same written, or is told what the first one said.
    Who may: whoever may write. Raises NotFound, Conflict for a block that is marked otherwise, InvalidInput.
    """
    programme = programme_writable_by(actor, programme_id)
    block = _block(actor, programme, day, mark.key)
    if mark.state.value == block.state:
        return
    if BlockState.PLANNED not in (mark.state, block.state):
        raise Conflict(
            "This was marked “{state}” already, perhaps on another phone; take that back first.", state=block.state
        )
    with transaction.atomic():
        version = _next_version(block.plan_id)
        starts_at, ends_at = _times(block, mark, now)
        won = PlanBlock.objects.filter(id=block.id, state=block.state).update(
            state=mark.state.value, starts_at=starts_at, ends_at=ends_at, sequence=version, changed_at=now
        )
        if not won:
            _require_same(block, mark)
            return
        if mark.state is BlockState.DONE:
            _write_entry(actor, programme, block, mark, now=now)
        elif mark.state is BlockState.PLANNED:
            _take_back_entry(actor, block, now=now)
        audit(actor, "mark-block", str(block.id), now=now, key=mark.key, state=mark.state.value)


def _block(actor: Actor, programme: Programme, day: date, key: str) -> PlanBlock:
    block = PlanBlock.objects.filter(
        workspace_id=actor.workspace_id, plan__programme=programme, plan__day=day, key=key
    ).first()
    if block is None:
        raise NotFound("The timetable has changed and has no such block any more; look at it anew.")
    return block


def _times(block: PlanBlock, mark: Mark, now: datetime) -> tuple[datetime, datetime]:
    """Return when the block was: what is done before its planned end has ended by now."""
    if mark.state is not BlockState.DONE:
        return block.starts_at, block.ends_at
    done = done_at(Block(block.key, BlockKind(block.kind), block.starts_at, block.ends_at), now)
    return done.start, done.end


def _next_version(plan_id: UUID) -> int:
    """Return the plan's version after this change: it no longer fits what is known."""
    PlanRow.objects.filter(id=plan_id).update(version=F("version") + 1)
    version: int = PlanRow.objects.values_list("version", flat=True).get(id=plan_id)
    return version


def _require_same(block: PlanBlock, mark: Mark) -> None:
    state = PlanBlock.objects.filter(id=block.id).values_list("state", flat=True).first()
    if state != mark.state.value:
        raise Conflict("Another phone was faster and said otherwise; look at the timetable anew.")


def _write_entry(actor: Actor, programme: Programme, block: PlanBlock, mark: Mark, *, now: datetime) -> None:
    kind = BlockKind(block.kind)
    if kind not in ENTRY_OF or block.care_event is not None:
        return
    if kind is BlockKind.OUTING and mark.detail is CareDetail.PLAIN:
        raise InvalidInput.of("detail", "Say what was done outside: wee, poo, both or nothing.")
    at, note = (now, "") if now <= block.ends_at + JUST_NOW else (block.ends_at, TICKED_LATER)
    entry = CareEntry(
        kind=ENTRY_OF[kind],
        at=at,
        detail=mark.detail if kind is BlockKind.OUTING else _WORD_OF.get(kind, CareDetail.PLAIN),
        amount_g=_eaten_g(block, mark) if kind is BlockKind.MEAL else None,
        note=note,
        tz_offset_min=offset_min(at, actor.zone),
    )
    row, _ = add_entry(actor, programme.dog, entry, now=now)
    PlanBlock.objects.filter(id=block.id).update(care_event=row.event_id)


def _eaten_g(block: PlanBlock, mark: Mark) -> float | None:
    bowl_g: float | None = block.detail.get("bowl_g")
    return mark.amount_g if mark.amount_g is not None else (bowl_g or None)


def _take_back_entry(actor: Actor, block: PlanBlock, *, now: datetime) -> None:
    if block.care_event is None:
        return
    row = CareRow.objects.filter(workspace_id=actor.workspace_id, event_id=block.care_event).first()
    if row is not None:
        take_back_entry(actor, row, now=now)
    PlanBlock.objects.filter(id=block.id).update(care_event=None)
