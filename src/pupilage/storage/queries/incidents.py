"""Incidents of a dog, as core's type."""

from pupilage.core.incidents.between_dogs import between_from_stored
from pupilage.core.incidents.context import context_from_stored
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.teeth import Teeth
from pupilage.storage.models import Dog
from pupilage.storage.models import Incident as IncidentRow


def list_incidents(dog: Dog, *, limit: int | None = None) -> list[Incident]:
    """Return the incidents that stand, the newest first. One query."""
    rows = IncidentRow.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None).order_by("-at", "id")
    return [incident_of(row) for row in rows[:limit]]


def list_places(dog: Dog, *, limit: int = 4) -> list[str]:
    """Return where incidents were, the newest first, each place once. One query."""
    rows = IncidentRow.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None).exclude(place="")
    return list(dict.fromkeys(rows.order_by("-at", "id").values_list("place", flat=True)[:50]))[:limit]


def incident_of(row: IncidentRow) -> Incident:
    """Return a row as core's type; a key that is no longer in use is left out."""
    known = {before.value for before in Before}
    return Incident(
        id=str(row.id),
        behaviour=row.behaviour,
        at=row.at,
        place=row.place,
        antecedent=row.antecedent,
        consequence=row.consequence,
        people_did=row.people_did,
        supervised=row.supervised,
        note=row.note,
        before=tuple(Before(key) for key in row.before if key in known),
        gained=Gain(row.gained) if row.gained else None,
        left_it=row.left_it,
        slip=row.slip,
        teeth=Teeth(row.teeth) if row.teeth else None,
        near_miss=row.near_miss,
        in_charge=row.in_charge,
        context=context_from_stored(row.context),
        between=between_from_stored(row.between),
    )
