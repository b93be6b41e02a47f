"""What if the stay were otherwise: two plans side by side, nothing written."""

from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.planning.programme.what_if import WhatIf, Wish, compare_plans
from pupilage.services.gather_plan_input import gather_plan_input
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.programmes import programme_readable_by


def compare_programme_plans(actor: Actor, programme_id: UUID, wish: Wish, *, now: datetime) -> WhatIf:
    """Return the plan as the stay is and as the wish would have it. Who may: whoever may read.

    Raises: NotFound, InvalidInput for figures that cannot be.
    """
    programme = programme_readable_by(actor, programme_id)
    gathered = gather_plan_input(actor, programme, now=now)
    return compare_plans(gathered.given, wish, gathered.known, catalogue=load_catalogue(), now=now)
