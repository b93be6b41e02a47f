"""How the days of a stay usually run: when they begin and end, when it is quiet, when the pup eats."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_from
from pupilage.storage.models import DayPreferences as PreferencesRow
from pupilage.storage.queries.programmes import programme_writable_by


def change_day_frame(actor: Actor, programme_id: UUID, chosen: DayPreferences, *, now: datetime) -> None:
    """Write how the days of a stay run; today's timetable is made anew from now. Idempotent.

    Who may: whoever may write. Raises NotFound; `DayPreferences` itself refuses what cannot be.
    """
    programme = programme_writable_by(actor, programme_id)
    with transaction.atomic():
        PreferencesRow.objects.update_or_create(
            programme=programme, defaults={"workspace_id": actor.workspace_id, "chosen": chosen.to_json()}
        )
        touch_plans_from(actor, programme, now)
        audit(actor, "change-day-frame", str(programme.id), now=now)
