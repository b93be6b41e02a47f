"""The log of exposures as core's types."""

from pupilage.core.access import Actor
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import EntryKind, Exposure, LogEntry, Response, VetWord, Withdrawal
from pupilage.storage.models import Dog, ExposureEvent


def list_exposure_log(actor: Actor, dog: Dog) -> list[LogEntry]:
    """Return the whole log of a dog, in time order. One query."""
    rows = ExposureEvent.objects.filter(workspace_id=actor.workspace_id, dog=dog)
    return [log_entry_of(row) for row in rows.order_by("at", "id")]


def log_entry_of(row: ExposureEvent) -> LogEntry:
    """Return a row of the log as core's type."""
    match EntryKind(row.kind):
        case EntryKind.WITHDRAWN:
            return Withdrawal(str(row.event_id), str(row.withdraws))
        case EntryKind.VET_WORD:
            return VetWord(str(row.event_id), VetTopic(row.topic), row.at)
        case EntryKind.MET:
            return exposure_of(row)


def exposure_of(row: ExposureEvent) -> Exposure:
    """Return a meeting as core's type."""
    return Exposure(
        id=str(row.event_id),
        item=row.item,
        at=row.at,
        intensity=row.intensity,
        response=Response(row.response),
        distance_m=row.distance_m,
        recovery_s=row.recovery_s,
        with_food=row.with_food,
        note=row.note,
    )
