"""How a workspace shows things: language, time zone, unit of weight."""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import find_zone
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.units import WeightUnit
from pupilage.services.auditing import audit
from pupilage.storage.models import Workspace


@dataclass(frozen=True)
class Preferences:
    """Language code, IANA time zone, and the unit in which weights are shown and entered."""

    language: str
    timezone: str
    weight_unit: str


def set_preferences(actor: Actor, chosen: Preferences, *, now: datetime) -> None:
    """Write how this workspace shows things. Stored weights and instants stay as they are. Idempotent.

    Who may: whoever may write. Raises InvalidInput with every problem at once.
    """
    actor.require_write()
    problems = preference_problems(chosen)
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        Workspace.objects.filter(id=actor.workspace_id).update(
            language=chosen.language, timezone=chosen.timezone, weight_unit=chosen.weight_unit
        )
        audit(actor, "set-preferences", str(actor.workspace_id), now=now, timezone=chosen.timezone)


def preference_problems(chosen: Preferences) -> list[Problem]:
    """Return everything that is wrong with the choices."""
    problems = []
    if chosen.language not in dict(settings.LANGUAGES):
        problems.append(Problem("language", "There is no translation “{code}”; choose one.", code=chosen.language))
    try:
        find_zone(chosen.timezone)
    except InvalidInput as error:
        problems += error.problems
    if chosen.weight_unit not in {unit.value for unit in WeightUnit}:
        problems.append(
            Problem("weight_unit", "“{unit}” is no unit of weight here; choose kg or lb.", unit=chosen.weight_unit)
        )
    return problems
