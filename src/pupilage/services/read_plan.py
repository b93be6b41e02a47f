"""The plan of a stay as it is kept: the last good one, how old it is, and why there is no newer one."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.planning.programme.plan import Clash, ProgrammePlan
from pupilage.core.planning.programme.storing import clash_from_json, plan_from_json
from pupilage.core.planning.standing import GoalAim
from pupilage.services.gather_plan_input import gather_plan_input
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.models import Programme
from pupilage.storage.models import ProgrammePlan as PlanRow
from pupilage.storage.queries.programmes import programme_readable_by


@dataclass(frozen=True)
class KeptPlan:
    """A plan as kept. plan, made_at: None before the first; trouble: why the last attempt made none, None if it did.

    key: of what the plan was made from.
    """

    plan: ProgrammePlan | None
    made_at: datetime | None
    trouble: Clash | None
    key: str = ""


@dataclass(frozen=True)
class PlanPage:
    """What the page of the plan shows. is_stale: goals, dates, the record or the day have changed since."""

    head: ProgrammeHead
    kept: KeptPlan
    is_stale: bool
    goals: tuple[GoalAim, ...]


def read_plan(actor: Actor, programme_id: UUID, *, now: datetime) -> PlanPage:
    """Return the plan that is kept. Who may: whoever may read. Raises NotFound. Solves nothing."""
    programme = programme_readable_by(actor, programme_id)
    kept, gathered = kept_plan_of(programme), gather_plan_input(actor, programme, now=now)
    return PlanPage(
        head=head_of(actor, programme, now=now),
        kept=kept,
        is_stale=kept.plan is not None and kept.key != gathered.key,
        goals=gathered.given.aims,
    )


def kept_plan_of(programme: Programme) -> KeptPlan:
    """Return the plan kept of a programme. One query."""
    row = PlanRow.objects.filter(programme=programme).first()
    if row is None:
        return KeptPlan(None, None, None)
    plan = None if row.body is None else plan_from_json(row.body)
    trouble = None if row.trouble is None else clash_from_json(row.trouble)
    return KeptPlan(plan, row.made_at if plan else None, trouble, row.inputs_key)
