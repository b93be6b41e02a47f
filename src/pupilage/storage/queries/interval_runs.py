"""Runs with the timer, and their events as core's type."""

from collections import defaultdict
from uuid import UUID

from django.db.models import QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind, RunState, Spacing, fold_run
from pupilage.storage.models import Dog, IntervalRun
from pupilage.storage.models import RunEvent as RunEventRow


def runs_readable_by(actor: Actor) -> QuerySet[IntervalRun]:
    """Return the runs of the actor's workspace, the newest first."""
    return IntervalRun.objects.filter(workspace_id=actor.workspace_id).select_related("dog").order_by("-made_at", "id")


def run_readable_by(actor: Actor, run_id: UUID) -> IntervalRun:
    """Return one run. Raises NotFound for an unknown one and for another workspace's."""
    run = runs_readable_by(actor).filter(id=run_id).first()
    if run is None:
        raise NotFound("There is no such run here; choose one from the pup's page of paid stretches.")
    return run


def list_run_events(runs: list[IntervalRun]) -> dict[UUID, list[RunEvent]]:
    """Return the events of runs, by run, in the order of arrival. One query."""
    found: dict[UUID, list[RunEvent]] = defaultdict(list)
    for row in RunEventRow.objects.filter(run__in=runs).order_by("id"):
        found[row.run_id].append(
            RunEvent(
                str(row.event_id),
                RunEventKind(row.kind),
                row.at,
                row.mean_s,
                row.interval_s,
                str(row.withdraws) if row.withdraws else None,
            )
        )
    return found


def list_runs(actor: Actor, dog: Dog, *, limit: int | None = None) -> list[IntervalRun]:
    """Return a dog's runs, the newest first. One query."""
    return list(runs_readable_by(actor).filter(dog=dog)[:limit])


def state_of(run: IntervalRun, events: list[RunEvent]) -> RunState:
    """Return where a run stands."""
    return fold_run(run.first_mean_s, Spacing(run.spacing), run.seed, events)
