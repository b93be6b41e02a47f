"""Making the plan of a stay and keeping it."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.planning.programme.clashes import NoPlan
from pupilage.core.planning.programme.making import make_plan
from pupilage.core.planning.programme.storing import clash_to_json, plan_to_json
from pupilage.services.auditing import audit
from pupilage.services.gather_plan_input import gather_plan_input
from pupilage.services.keep_day_plan import touch_plans_from
from pupilage.services.read_plan import KeptPlan, kept_plan_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.models import ProgrammePlan as PlanRow
from pupilage.storage.queries.programmes import programme_writable_by


def plan_programme(actor: Actor, programme_id: UUID, *, now: datetime) -> KeptPlan:
    """Make the plan from today to the hand-over and keep it; where none can be made, the last good one stays.

    Who may: whoever may write. Idempotent: the same record gives the same plan. Solved before the transaction.
    Raises: NotFound, Forbidden.
    """
    programme = programme_writable_by(actor, programme_id)
    gathered = gather_plan_input(actor, programme, now=now)
    try:
        plan = make_plan(gathered.given, gathered.known, catalogue=load_catalogue(), now=now)
    except NoPlan as error:
        changes: dict[str, Any] = {"trouble": clash_to_json(error.clash), "tried_at": now}
    else:
        changes = {"body": plan_to_json(plan), "inputs_key": gathered.key, "made_at": now, "trouble": None}
    _keep(actor, programme, {**changes, "tried_at": now}, now=now)
    return kept_plan_of(programme)


def plan_if_due(actor: Actor, programme_id: UUID, *, now: datetime) -> KeptPlan:
    """Make the plan anew where goals, dates, the record of this morning or the day have changed since; return it.

    Who may, raises: as `plan_programme`.
    """
    programme = programme_writable_by(actor, programme_id)
    kept = kept_plan_of(programme)
    if kept.trouble is None and kept.key == gather_plan_input(actor, programme, now=now).key:
        return kept
    return plan_programme(actor, programme_id, now=now)


def _keep(actor: Actor, programme: Programme, changes: dict[str, Any], *, now: datetime) -> None:
    with transaction.atomic():
        PlanRow.objects.update_or_create(programme=programme, defaults={"workspace_id": actor.workspace_id, **changes})
        touch_plans_from(actor, programme, now)
        audit(actor, "plan-programme", str(programme.id), now=now, made=changes["trouble"] is None)
