"""Writing down an incident: antecedent, behaviour, consequence."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Incident
from pupilage.storage.queries.dogs import dog_writable_by


@dataclass(frozen=True)
class IncidentEntry:
    """What happened, in observable words. people_did: what people did, honestly and without blame."""

    behaviour: str
    at: datetime
    place: str = ""
    antecedent: str = ""
    consequence: str = ""
    people_did: str = ""
    supervised: bool = True
    note: str = ""


def log_incident(actor: Actor, dog_id: UUID, entry: IncidentEntry, *, now: datetime) -> UUID:
    """Write one incident and return its id. Who may: whoever may write. Not idempotent.

    Raises InvalidInput for an unknown behaviour and for a time in the future.
    """
    dog = dog_writable_by(actor, dog_id)
    problems = []
    if load_catalogue().find_unwanted(entry.behaviour) is None:
        problems.append(
            Problem("behaviour", "“{key}” is not among the unwanted behaviours; choose one.", key=entry.behaviour)
        )
    if require_aware(entry.at) > now + CLOCK_SLACK:
        problems.append(Problem("at", "This time is in the future; write it down once it has happened."))
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        incident = Incident.objects.create(
            workspace_id=actor.workspace_id,
            dog=dog,
            behaviour=entry.behaviour,
            at=entry.at,
            place=entry.place,
            antecedent=entry.antecedent,
            consequence=entry.consequence,
            people_did=entry.people_did,
            supervised=entry.supervised,
            note=entry.note,
        )
        audit(actor, "log-incident", str(incident.id), now=now, behaviour=entry.behaviour)
    return incident.id
