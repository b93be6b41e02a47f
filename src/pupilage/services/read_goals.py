"""What the page for choosing goals shows: the goals that stand, or those proposed from the catalogue."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import age_weeks
from pupilage.core.planning.goal_proposal import GoalProposal, propose_goals
from pupilage.core.words import Sentence
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Goal
from pupilage.storage.queries.programmes import list_goals, programme_readable_by


@dataclass(frozen=True)
class GoalLine:
    """A behaviour to tick or not, with the step and the weight (1 to 5) it has or would have."""

    behaviour: Behaviour
    step: str
    weight: int
    reason: Sentence
    chosen: bool


@dataclass(frozen=True)
class GoalsPage:
    """Every behaviour of the catalogue. proposed: no goal stands yet, so the ticks are a proposal."""

    head: ProgrammeHead
    lines: tuple[GoalLine, ...]
    proposed: bool


def read_goals(actor: Actor, programme_id: UUID, *, now: datetime) -> GoalsPage:
    """Return the page for choosing goals. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    standing = {goal.behaviour: goal for goal in list_goals(programme)}
    proposals = propose_goals(
        load_catalogue(),
        age_weeks=age_weeks(programme.dog.born_on, programme.arrival_on),
        n_days=(programme.handover_on - programme.arrival_on).days,
        has_resident=Dog.objects.filter(household_id=programme.dog.household_id, is_resident=True).exists(),
    )
    return GoalsPage(
        head=head_of(actor, programme, now=now),
        lines=tuple(_line(proposal, standing) for proposal in proposals),
        proposed=not standing,
    )


def _line(proposal: GoalProposal, standing: dict[str, Goal]) -> GoalLine:
    goal = standing.get(proposal.behaviour.key)
    return GoalLine(
        behaviour=proposal.behaviour,
        step=goal.step if goal else proposal.step,
        weight=goal.weight if goal else proposal.weight,
        reason=proposal.reason,
        chosen=goal is not None if standing else proposal.chosen,
    )
