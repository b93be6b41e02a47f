"""What the record says of the plans against a dog's unwanted behaviours."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, UnwantedBehaviour
from pupilage.core.clock import local_day
from pupilage.core.errors import NotFound
from pupilage.core.incidents.phases import PhaseKind, PlanPhase
from pupilage.core.incidents.plan_answers import PlanAnswers, answer_plan
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.waking import free_time
from pupilage.services.read_incidents import EVER
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Programme
from pupilage.storage.queries.change_plans import list_plan_phases
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.incidents import list_incidents


@dataclass(frozen=True)
class ChangePlanPage:
    """One behaviour's plan. phases: those that stand, in order; those to come among them.

    standing: the newest of them that is a plan and is not ended, None without; own_lines: what it arranges beyond the
    catalogue's lines; replacement: the behaviour that the catalogue proposes instead; is_goal: whether it is one
    of the stay that runs or ran last.
    """

    dog_id: UUID
    dog: str
    unwanted: UnwantedBehaviour
    phases: tuple[PlanPhase, ...]
    standing: PlanPhase | None
    replacement: Behaviour | None
    is_goal: bool
    programme_id: UUID | None
    answers: PlanAnswers
    today: date

    @property
    def own_lines(self) -> tuple[str, ...]:
        arranged = self.standing.arrange if self.standing else ()
        return tuple(line for line in arranged if line not in self.unwanted.arrange)


def read_change_plan(actor: Actor, dog_id: UUID, behaviour: str, *, now: datetime) -> ChangePlanPage:
    """Return one behaviour's plan and what became of it. Who may: whoever may read. Raises NotFound. Six queries."""
    dog = dog_readable_by(actor, dog_id)
    unwanted = load_catalogue().find_unwanted(behaviour)
    if unwanted is None:
        raise NotFound("There is no such unwanted behaviour; choose one from the list.")
    phases = list_plan_phases(dog, behaviour=behaviour).get(behaviour, [])
    programme = Programme.objects.filter(dog=dog, workspace_id=actor.workspace_id).order_by("-arrival_on").first()
    replacement = load_catalogue().find_behaviour(unwanted.replacement_behaviour or "")
    return ChangePlanPage(
        dog_id=dog.id,
        dog=dog.name,
        unwanted=unwanted,
        phases=tuple(phases),
        standing=phases[-1] if phases and phases[-1].kind is PhaseKind.PLAN else None,
        replacement=replacement,
        is_goal=_is_goal(programme, replacement),
        programme_id=None if programme is None else programme.id,
        answers=_answers(actor, dog, {behaviour: phases}, now=now)[behaviour],
        today=local_day(now, actor.zone),
    )


def read_change_plans(actor: Actor, dog_id: UUID, *, now: datetime) -> dict[str, PlanAnswers]:
    """Return what became of each plan, by behaviour; empty without one. Who may: whoever may read. Four queries."""
    dog = dog_readable_by(actor, dog_id)
    return _answers(actor, dog, list_plan_phases(dog), now=now)


def _answers(actor: Actor, dog: Dog, phases: dict[str, list[PlanPhase]], *, now: datetime) -> dict[str, PlanAnswers]:
    if not phases:
        return {}
    incidents = list_incidents(dog)
    free: list[Stretch] = free_time(list_care_events(dog, since=EVER, until=now), actor.zone)
    return {
        key: answer_plan(
            [one for one in incidents if one.behaviour == key],
            own,
            free=free,
            zone=actor.zone,
            today=local_day(now, actor.zone),
        )
        for key, own in phases.items()
    }


def _is_goal(programme: Programme | None, behaviour: Behaviour | None) -> bool:
    if programme is None or behaviour is None:
        return False
    return programme.goals.filter(behaviour=behaviour.key, dropped_at=None).exists()
