"""The kept plan of a stay, as core's type."""

from pupilage.core.planning.programme.plan import ProgrammePlan
from pupilage.core.planning.programme.storing import plan_from_json
from pupilage.storage.models import Programme


def find_plan(programme: Programme) -> ProgrammePlan | None:
    """Return the last good plan of a stay, None before the first.

    No query for a programme read by `programmes_readable_by`, else one.
    """
    row = getattr(programme, "plan", None)
    return None if row is None or row.body is None else plan_from_json(row.body)
