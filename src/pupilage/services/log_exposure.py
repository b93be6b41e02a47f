"""Writing the log of exposures: what was met, and how the pup took it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.exposures.item import LEAST_INTENSITY, MOST_INTENSITY
from pupilage.core.care.exposures.loading import MAX_DISTANCE_M
from pupilage.core.care.exposures.log import EntryKind, Exposure, Response
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_day_plans
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage.exposure_files import read_exposure_files
from pupilage.storage.models import ExposureEvent
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.exposures import exposure_of

MAX_RECOVERY_S = 86_400.0


@dataclass(frozen=True)
class ExposureEntry:
    """What is to be written down. event_id: chosen by the device, so that writing it twice stores it once.

    distance_m, recovery_s, with_food: None where nothing is said.
    """

    item: str
    at: datetime
    intensity: int
    response: Response
    distance_m: float | None = None
    recovery_s: float | None = None
    with_food: bool | None = None
    note: str = ""
    event_id: UUID | None = None
    tz_offset_min: int = 0


def log_exposure(actor: Actor, dog_id: UUID, entry: ExposureEntry, *, now: datetime) -> Exposure:
    """Write one meeting and return it. Who may: whoever may write. Idempotent by event_id.

    Raises InvalidInput, with all problems at once, for an unknown item, a time in the future, an intensity off the
    scale, or a distance or recovery that cannot be; Conflict for an event_id that stands for something else.
    """
    dog = dog_writable_by(actor, dog_id)
    problems = list(_problems(entry, now))
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        row, made = ExposureEvent.objects.get_or_create(
            workspace_id=actor.workspace_id,
            event_id=entry.event_id or uuid4(),
            defaults={
                "dog": dog,
                "kind": EntryKind.MET.value,
                "item": entry.item,
                "intensity": entry.intensity,
                "response": entry.response.value,
                "distance_m": entry.distance_m,
                "recovery_s": entry.recovery_s,
                "with_food": entry.with_food,
                "note": entry.note,
                "at": entry.at,
                "tz_offset_min": entry.tz_offset_min,
                "received_at": now,
            },
        )
        if row.kind != EntryKind.MET.value or row.dog_id != dog.id:
            raise Conflict("This entry's id belongs to another entry; give a new one.")
        if made:
            touch_day_plans(actor, dog.id, at=entry.at, now=now)
            audit(actor, "log-exposure", str(row.event_id), now=now, item=entry.item)
    return exposure_of(row)


def _problems(entry: ExposureEntry, now: datetime) -> Iterator[Problem]:
    if read_exposure_files().catalogue.find(entry.item) is None:
        yield Problem("item", "“{key}” is not on the list of what to meet; choose one of it.", key=entry.item)
    if require_aware(entry.at) > now + CLOCK_SLACK:
        yield Problem("at", "This time is in the future; write it down once it has happened.")
    if not LEAST_INTENSITY <= entry.intensity <= MOST_INTENSITY:
        yield Problem(
            "intensity",
            "{given} is not an intensity; give a whole number from {least} to {most}.",
            given=entry.intensity,
            least=LEAST_INTENSITY,
            most=MOST_INTENSITY,
        )
    if not _within(entry.distance_m, MAX_DISTANCE_M):
        yield Problem(
            "distance_m",
            "{given:g} m is no distance to meet anything at; give metres from 0 to {most:g}, or nothing.",
            given=entry.distance_m or 0.0,
            most=MAX_DISTANCE_M,
        )
    if not _within(entry.recovery_s, MAX_RECOVERY_S):
        yield Problem(
            "recovery_s",
            "{given:g} s is no time to recover; give seconds from 0 to {most:g}, or nothing.",
            given=entry.recovery_s or 0.0,
            most=MAX_RECOVERY_S,
        )


def _within(given: float | None, most: float) -> bool:
    """Return whether a figure that may be left out lies from 0 to `most`; NaN does not."""
    return given is None or (math.isfinite(given) and 0.0 <= given <= most)
