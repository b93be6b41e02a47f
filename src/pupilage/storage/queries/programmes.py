"""Programmes and their goals, scoped by who asks."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from pupilage.core.access import Actor, Scope
from pupilage.core.care.toilet.limits import DEFAULT_RISK
from pupilage.core.errors import NotFound
from pupilage.storage.models import Dog, Goal, Programme
from pupilage.storage.queries.sessions import log_marks

LogMark = tuple[UUID | None, int | None]
"""The newest entry of a workspace's log and how many there are."""


def programmes_readable_by(actor: Actor) -> QuerySet[Programme]:
    """Return the programmes of the actor's workspace, the newest arrival first.

    Each has the marks of the workspace's log (`sessions.log_marks`): whether anything has changed.
    """
    return (
        Programme.objects.filter(workspace_id=actor.workspace_id)
        .annotate(**log_marks(actor))
        .select_related("dog", "dog__household", "family", "plan")
        .order_by("-arrival_on", "id")
    )


def programme_readable_by(actor: Actor, programme_id: UUID) -> Programme:
    """Return one programme. Raises NotFound for an unknown one and for another workspace's."""
    programme = programmes_readable_by(actor).filter(id=programme_id).first()
    if programme is None:
        raise NotFound("There is no such programme here; choose one from the list.")
    return programme


def programme_writable_by(actor: Actor, programme_id: UUID) -> Programme:
    """Return one programme to change. Raises Forbidden for a reader, NotFound as above."""
    actor.require_write()
    return programme_readable_by(actor, programme_id)


def find_current_programme(actor: Actor, today: date) -> Programme | None:
    """Return the programme that runs today; else the next to come, else the last one that ended.

    The practice of a dog that lives there is none of them.
    """
    programmes = list(programmes_readable_by(actor).filter(dog__is_resident=False))
    running = [p for p in programmes if p.arrival_on <= today <= p.handover_on]
    coming = [p for p in reversed(programmes) if p.arrival_on > today]
    return next(iter(running + coming + programmes), None)


def outing_risk_of(dog: Dog) -> float:
    """Return the risk between outings that the dog's newest stay takes; the usual one without a stay."""
    found = dog.programmes.order_by("-arrival_on").values_list("outing_risk", flat=True).first()
    return DEFAULT_RISK if found is None else float(found)


def list_ended_programmes(actor: Actor, today: date, *, limit: int) -> list[Programme]:
    """Return the stays whose hand-over day is over, the newest first."""
    ended = Programme.objects.filter(workspace_id=actor.workspace_id, handover_on__lt=today, dog__is_resident=False)
    return list(ended.order_by("-handover_on", "id")[:limit])


def list_goals(programme: Programme) -> list[Goal]:
    """Return the goals that stand, the weightiest first."""
    return list(programme.goals.filter(dropped_at=None).order_by("-weight", "behaviour"))


def find_target(programme: Programme, behaviour: str) -> str | None:
    """Return the step that a behaviour's goal is set at, None without a goal."""
    return programme.goals.filter(behaviour=behaviour).values_list("step", flat=True).first()


def log_mark_of(scope: Scope, programme: Programme) -> LogMark:
    """Return the log's mark, as `programmes_readable_by` read it; a programme read along with a session has none.

    One that is not written yet has no record: both are None.
    """
    row: Any = programme
    if not hasattr(programme, "n_events"):
        own = Programme.objects.filter(workspace_id=scope.workspace_id, id=programme.id)
        row = own.annotate(**log_marks(scope)).first()
    return (None, None) if row is None else (row.newest_event, row.n_events)


def find_programme_of(actor: Actor, dog_id: UUID) -> Programme | None:
    """Return a pup's stay, the newest where there were several; None for a dog that lives there."""
    return programmes_readable_by(actor).filter(dog_id=dog_id).first()
