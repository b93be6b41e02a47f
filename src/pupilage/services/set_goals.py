"""Choosing what the pup should be able to do at hand-over."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_from
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Goal
from pupilage.storage.queries.programmes import programme_writable_by


@dataclass(frozen=True)
class GoalChoice:
    """A behaviour, the step it should be at, and how much it matters (1 to 5)."""

    behaviour: str
    step: str
    weight: int = 3


def set_goals(actor: Actor, programme_id: UUID, choices: Sequence[GoalChoice], *, now: datetime) -> None:
    """Make these the goals of a programme; others are dropped, not deleted. Idempotent.

    Who may: whoever may write. Raises InvalidInput with every problem at once, and then changes nothing.
    """
    programme = programme_writable_by(actor, programme_id)
    problems = [problem for choice in choices for problem in _problems(choice)]
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        kept = {choice.behaviour for choice in choices}
        programme.goals.filter(dropped_at=None).exclude(behaviour__in=kept).update(dropped_at=now)
        for choice in choices:
            Goal.objects.update_or_create(
                programme=programme,
                behaviour=choice.behaviour,
                defaults={
                    "workspace_id": actor.workspace_id,
                    "step": choice.step,
                    "weight": choice.weight,
                    "dropped_at": None,
                },
            )
        touch_plans_from(actor, programme, now)
        audit(actor, "set-goals", str(programme.id), now=now, goals=sorted(kept))


def _problems(choice: GoalChoice) -> list[Problem]:
    behaviour = load_catalogue().find_behaviour(choice.behaviour)
    if behaviour is None:
        return [Problem("behaviour", "“{key}” is not in the catalogue; choose one from it.", key=choice.behaviour)]
    problems = []
    if behaviour.step(choice.step) is None:
        problems.append(
            Problem(
                "step",
                "“{step}” is not a step of {name}; its steps are {known}.",
                step=choice.step,
                name=behaviour.name,
                known=", ".join(step.key for step in behaviour.steps),
            )
        )
    if not 1 <= choice.weight <= 5:
        problems.append(
            Problem("weight", "{n} is no weight for {name}; give 1 to 5.", n=choice.weight, name=behaviour.name)
        )
    return problems
