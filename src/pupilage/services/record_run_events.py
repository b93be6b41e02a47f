"""Writing the taps of a run with the timer into its log."""

import math
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, Problem
from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind
from pupilage.services.auditing import audit
from pupilage.storage.models import RunEvent as RunEventRow
from pupilage.storage.queries.interval_runs import run_readable_by

MAX_EVENTS_A_CALL = 500


def record_run_events(actor: Actor, run_id: UUID, events: Sequence[RunEvent], *, now: datetime) -> tuple[str, ...]:
    """Add events to a run's log and return the ids that are stored now.

    Who may: whoever may write. Idempotent by the events' ids; any order and split give the same run.
    Raises InvalidInput with all problems at once, NotFound, Conflict for an id that belongs to another run.
    """
    actor.require_write()
    run = run_readable_by(actor, run_id)
    problems = [problem for event in events for problem in _problems(event)]
    if len(events) > MAX_EVENTS_A_CALL:
        problems.append(Problem("events", "{n} events in one call; send at most 500.", n=len(events)))
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        ids = [UUID(event.id) for event in events]
        rows = RunEventRow.objects.filter(workspace_id=actor.workspace_id, event_id__in=ids)
        known = dict(rows.values_list("event_id", "run_id"))
        if any(one != run.id for one in known.values()):
            raise Conflict("An event's id belongs to another run; give each event a new one.")
        new = {event.id: event for event in events if UUID(event.id) not in known}
        RunEventRow.objects.bulk_create(_row(actor, run.id, event, now) for event in new.values())
        if new:
            audit(actor, "record-run-events", str(run.id), now=now, events=len(new))
    return tuple(str(one) for one in ids)


def _row(actor: Actor, run_id: UUID, event: RunEvent, now: datetime) -> RunEventRow:
    return RunEventRow(
        workspace_id=actor.workspace_id,
        run_id=run_id,
        event_id=UUID(event.id),
        kind=event.kind.value,
        at=event.at,
        mean_s=event.mean_s,
        interval_s=event.interval_s,
        withdraws=UUID(event.withdraws) if event.withdraws else None,
        received_at=now,
    )


def _problems(event: RunEvent) -> list[Problem]:
    require_aware(event.at)
    problems = []
    for name, seconds in (("mean_s", event.mean_s), ("interval_s", event.interval_s)):
        if not (math.isfinite(seconds) and 0.0 < seconds <= 1e7):
            problems.append(Problem(name, "{given} s is no interval; give seconds above 0.", given=seconds))
    if (event.kind is RunEventKind.WITHDRAWN) != (event.withdraws is not None):
        problems.append(Problem("withdraws", "Only an event that takes another one back names it."))
    return problems
