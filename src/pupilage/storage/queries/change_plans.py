"""Plans against unwanted behaviours as core's types."""

from pupilage.core.incidents.phases import PhaseKind, PlanPhase
from pupilage.storage.models import ChangePlan, Dog


def list_plan_phases(dog: Dog, *, behaviour: str = "") -> dict[str, list[PlanPhase]]:
    """Return the phases that stand, by behaviour, each in order of its first day. One query."""
    rows = ChangePlan.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None)
    if behaviour:
        rows = rows.filter(behaviour=behaviour)
    found: dict[str, list[PlanPhase]] = {}
    for row in rows.order_by("starts_on", "written_at", "id"):
        found.setdefault(row.behaviour, []).append(plan_phase_of(row))
    return found


def plan_phase_of(row: ChangePlan) -> PlanPhase:
    """Return a row as core's type."""
    return PlanPhase(
        starts_on=row.starts_on,
        kind=PhaseKind(row.kind),
        arrange=tuple(row.arrange),
        replacement=row.replacement,
        gain_stops=row.gain_stops,
        note=row.note,
        id=str(row.id),
    )
