"""How a workspace shows things: language, time zone, unit of weight."""

import re
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

PHONE = re.compile(r"\+?[0-9(][0-9 ()/.\-]{1,38}")


@dataclass(frozen=True)
class Preferences:
    """Language code, IANA time zone, and the unit in which weights are shown and entered.

    vet_phone, poison_phone: whom to call where a minute counts, as they are dialled in this country; None leaves the
    number that is there.
    """

    language: str
    timezone: str
    weight_unit: str
    vet_phone: str | None = None
    poison_phone: str | None = None

    @property
    def phones(self) -> dict[str, str]:
        """The numbers that were given, by the name of their field."""
        both = {"vet_phone": self.vet_phone, "poison_phone": self.poison_phone}
        return {name: phone.strip() for name, phone in both.items() if phone is not None}


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
            language=chosen.language,
            timezone=chosen.timezone,
            weight_unit=chosen.weight_unit,
            **chosen.phones,
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
    for name, phone in chosen.phones.items():
        if phone and not PHONE.fullmatch(phone):
            problems.append(
                Problem(name, "“{phone}” cannot be dialled; give digits, spaces and a + in front.", phone=phone[:60])
            )
    return problems
