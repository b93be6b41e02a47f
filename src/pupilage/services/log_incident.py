"""Writing down an incident: antecedent, behaviour, consequence."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import day_bounds, require_aware
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.core.incidents.between_dogs import BetweenDogs, between_as_stored
from pupilage.core.incidents.context import context_as_stored
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.teeth import Teeth
from pupilage.services.auditing import audit
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.services.read_incidents import context_at
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, User
from pupilage.storage.models import Incident as IncidentTable
from pupilage.storage.queries.dogs import dog_writable_by


@dataclass(frozen=True)
class IncidentEntry:
    """What happened, in observable words. people_did: what people did, honestly and without blame.

    incident_id: chosen by the device, so that writing it twice stores it once; the rest is `record.Incident`'s.
    in_charge: left empty, whoever writes it down.
    """

    behaviour: str
    at: datetime
    place: str = ""
    antecedent: str = ""
    consequence: str = ""
    people_did: str = ""
    supervised: bool = True
    note: str = ""
    before: tuple[Before, ...] = ()
    gained: Gain | None = None
    left_it: bool = False
    slip: bool = False
    teeth: Teeth | None = None
    near_miss: bool = False
    in_charge: str = ""
    between: BetweenDogs | None = None
    incident_id: UUID | None = None


def log_incident(actor: Actor, dog_id: UUID, entry: IncidentEntry, *, now: datetime) -> UUID:
    """Write one incident, with what the care log knows of its moment, and return its id.

    Who may: whoever may write. Idempotent by incident_id.

    Raises InvalidInput for an unknown behaviour, a time in the future, or one before the pup came.
    """
    dog = dog_writable_by(actor, dog_id)
    _require_entry(actor, dog, entry, now)
    context = context_at(actor, dog, entry.at)
    with transaction.atomic():
        incident, made = IncidentTable.objects.get_or_create(
            workspace_id=actor.workspace_id,
            id=entry.incident_id or uuid4(),
            defaults={
                "dog": dog,
                **columns_of(entry),
                "in_charge": entry.in_charge or _name_of(actor),
                "context": context_as_stored(context),
            },
        )
        if made:
            audit(actor, "log-incident", str(incident.id), now=now, behaviour=entry.behaviour)
    return incident.id


def columns_of(entry: IncidentEntry | Incident) -> dict[str, Any]:
    """Return an incident as the table's columns, but for its id and whose it is."""
    return {
        "behaviour": entry.behaviour,
        "at": entry.at,
        "place": entry.place,
        "before": [before.value for before in entry.before],
        "antecedent": entry.antecedent,
        "gained": entry.gained or "",
        "consequence": entry.consequence,
        "people_did": entry.people_did,
        "supervised": entry.supervised,
        "left_it": entry.left_it,
        "slip": entry.slip,
        "teeth": entry.teeth or "",
        "note": entry.note,
        "near_miss": entry.near_miss,
        "in_charge": entry.in_charge,
        "between": between_as_stored(entry.between),
    }


def take_incident_back(actor: Actor, incident_id: UUID, *, now: datetime) -> UUID:
    """Take an incident out of every reading; the row stays. Returns the dog's id. Idempotent."""
    actor.require_write()
    row = IncidentTable.objects.filter(workspace_id=actor.workspace_id, id=incident_id).first()
    if row is None:
        raise NotFound("There is no such incident; it may have been written in another workspace.")
    with transaction.atomic():
        if IncidentTable.objects.filter(id=row.id, taken_back_at=None).update(taken_back_at=now):
            audit(actor, "take-incident-back", str(row.id), now=now)
    return row.dog_id


def _name_of(actor: Actor) -> str:
    user = User.objects.filter(id=actor.user_id).first()
    return "" if user is None else user.display_name or user.username


def _require_entry(actor: Actor, dog: Dog, entry: IncidentEntry, now: datetime) -> None:
    problems = []
    if load_catalogue().find_unwanted(entry.behaviour) is None:
        problems.append(
            Problem("behaviour", "“{key}” is not among the unwanted behaviours; choose one.", key=entry.behaviour)
        )
    at = require_aware(entry.at)
    if at > now + CLOCK_SLACK:
        problems.append(Problem("at", "This time is in the future; write it down once it has happened."))
    arrival = dog.programmes.order_by("arrival_on").values_list("arrival_on", flat=True).first()
    if arrival is not None and at < day_bounds(arrival, actor.zone)[0]:
        problems.append(
            Problem(
                "at",
                "This is before the pup came on {day}; write what its breeder or owner told you into the note.",
                day=arrival.isoformat(),
            )
        )
    if entry.left_it and entry.near_miss:
        problems.append(
            Problem("left", "It left it by itself, or somebody was in time: choose one of the two, the one you saw.")
        )
    if problems:
        raise InvalidInput(problems)
