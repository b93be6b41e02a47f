"""Keeping a timetable: written only over what it was made from, and never over what a person ticked off."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F

from pupilage.core.access import Actor
from pupilage.core.clock import local_day
from pupilage.core.planning.day.blocks import Block, BlockState, DayPlan
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.storage.models import DayPlan as PlanRow
from pupilage.storage.models import PlanBlock, Programme, TrainingSession
from pupilage.storage.queries.day_plans import AFTERWARDS, broken_json, detail_of, sentence_json

OLDER_THAN_THAT = timedelta(days=1)
"""An entry about a longer time ago moves no block of today."""


@dataclass(frozen=True)
class FollowedPlan:
    """A timetable with the version that it was made from (0 before the first), and what the log says of its blocks.

    entries: by the key of a block, the entry of the care log that is about it, None where it was taken back;
    trouble: why the plan is still the one before, a sentence each.
    """

    plan: DayPlan
    seen_version: int
    entries: Mapping[str, UUID | None] = field(default_factory=dict)
    trouble: tuple[Sentence, ...] = ()


def keep_day_plan(actor: Actor, programme: Programme, followed: FollowedPlan, *, now: datetime) -> bool:
    """Write a timetable; return False, and write nothing, when more has happened than it was made from.

    Blocks that are ticked off stay as they are, and so do those that are over. Who may: the caller has asked.
    """
    plan, seen_version = followed.plan, followed.seen_version
    with transaction.atomic():
        row, _ = PlanRow.objects.get_or_create(
            workspace_id=actor.workspace_id, programme=programme, day=plan.day, defaults={"version": 0}
        )
        version = seen_version + 1
        won = PlanRow.objects.filter(id=row.id, version=seen_version).update(
            version=version,
            fits_version=version,
            made_at=now,
            status=plan.solution.status,
            gap=plan.solution.gap,
            seconds=plan.solution.seconds,
            broken=[broken_json(one) for one in plan.broken],
            trouble=[sentence_json(one) for one in followed.trouble],
        )
        if not won:
            return False
        opened = [key for key, event_id in followed.entries.items() if event_id is None]
        PlanBlock.objects.filter(plan=row, key__in=opened).update(
            state=BlockState.PLANNED.value, sequence=version, changed_at=now
        )
        _write_blocks(actor, row, plan.blocks, version=version, now=now)
        for key, event_id in followed.entries.items():
            PlanBlock.objects.filter(plan=row, key=key).update(care_event=event_id)
        audit(actor, "make-day-plan", str(row.id), now=now, day=plan.day.isoformat(), status=plan.solution.status)
    return True


def touch_day_plans(actor: Actor, dog_id: UUID, *, at: datetime, now: datetime) -> None:
    """Say, inside the caller's transaction, that something happened at `at` that the dog's timetables do not know."""
    if at < now - OLDER_THAN_THAT:
        return
    since = local_day(min(at, now), actor.zone) - OLDER_THAN_THAT
    rows = PlanRow.objects.filter(workspace_id=actor.workspace_id, programme__dog_id=dog_id, day__gte=since)
    rows.update(version=F("version") + 1)


def touch_plans_between(actor: Actor, programme: Programme, since: datetime, until: datetime) -> None:
    """Say, inside the caller's transaction, that what timetables are made of has changed for a stretch of time."""
    first, last = local_day(since, actor.zone) - OLDER_THAN_THAT, local_day(until, actor.zone)
    PlanRow.objects.filter(programme=programme, day__gte=first, day__lte=last).update(version=F("version") + 1)


def touch_plans_of_sessions(actor: Actor, session_ids: Iterable[UUID], *, now: datetime) -> None:
    """Say the same where a session has begun or ended: its block is ticked off by it."""
    since = local_day(now, actor.zone) - OLDER_THAN_THAT
    programmes = TrainingSession.objects.filter(workspace_id=actor.workspace_id, id__in=list(session_ids))
    rows = PlanRow.objects.filter(programme__in=programmes.values("programme"), day__gte=since)
    rows.update(version=F("version") + 1)


def touch_plans_from(actor: Actor, programme: Programme, since: datetime) -> None:
    """Say the same for all timetables from a moment on."""
    first = local_day(since, actor.zone) - OLDER_THAN_THAT
    PlanRow.objects.filter(programme=programme, day__gte=first).update(version=F("version") + 1)


def _write_blocks(actor: Actor, row: PlanRow, blocks: tuple[Block, ...], *, version: int, now: datetime) -> None:
    """Write what has changed. What is ticked off stays; what is over moves only to a time still to come.

    A block that the new plan has no more goes only while it lies ahead and is not ticked off.
    """
    stored = {block.key: block for block in PlanBlock.objects.filter(plan=row)}
    ticked = {key for key, old in stored.items() if old.state != BlockState.PLANNED.value}
    over = {key for key, old in stored.items() if old.ends_at <= now}
    for block in blocks:
        old = stored.get(block.key)
        if old is None:
            _add(actor, row, block, version=version, now=now)
        elif block.key not in ticked and (block.key not in over or block.end > now):
            _change(old, block, version=version, now=now)
        elif block.key not in ticked and block.state is not BlockState.PLANNED:
            PlanBlock.objects.filter(id=old.id).update(state=block.state.value, sequence=version, changed_at=now)
    gone = stored.keys() - {block.key for block in blocks} - ticked - over
    PlanBlock.objects.filter(plan=row, key__in=gone).delete()


def _add(actor: Actor, row: PlanRow, block: Block, *, version: int, now: datetime) -> None:
    PlanBlock.objects.create(
        workspace_id=actor.workspace_id,
        plan=row,
        key=block.key,
        kind=block.kind.value,
        starts_at=block.start,
        ends_at=block.end,
        state=block.state.value,
        detail={**detail_of(block), AFTERWARDS: True} if block.end <= now else detail_of(block),
        sequence=version,
        changed_at=now,
    )


def _change(old: PlanBlock, block: Block, *, version: int, now: datetime) -> None:
    """Write the block where it differs; one that stays as it was keeps its sequence, and calendars stay quiet."""
    new = (block.kind.value, block.start, block.end, block.state.value, detail_of(block))
    if (old.kind, old.starts_at, old.ends_at, old.state, old.detail) == new:
        return
    old.kind, old.starts_at, old.ends_at, old.state, old.detail = new
    old.sequence, old.changed_at = version, now
    old.save(update_fields=["kind", "starts_at", "ends_at", "state", "detail", "sequence", "changed_at"])
