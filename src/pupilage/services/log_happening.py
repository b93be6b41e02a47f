"""Something happened that was not planned: it is written down, and the rest of the day is planned anew from now."""

from datetime import date, datetime
from enum import StrEnum
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.clock import offset_min
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.services.auditing import audit
from pupilage.services.log_care import CareEntry, add_entry
from pupilage.storage.models import DayPlan as PlanRow
from pupilage.storage.models import PlanBlock, Programme
from pupilage.storage.queries.programmes import programme_writable_by


class Happened(StrEnum):
    """What went otherwise."""

    WOKE_EARLY = "woke-early"
    WEE_INDOORS = "wee-indoors"
    POO_INDOORS = "poo-indoors"
    ATE_LATE = "ate-late"
    """The meal that was due has been eaten only now."""


_ENTRY_OF = {
    Happened.WOKE_EARLY: (CareKind.NAP, CareDetail.END),
    Happened.WEE_INDOORS: (CareKind.INDOORS, CareDetail.WEE),
    Happened.POO_INDOORS: (CareKind.INDOORS, CareDetail.POO),
    Happened.ATE_LATE: (CareKind.MEAL, CareDetail.PLAIN),
}


def log_happening(
    actor: Actor,
    programme_id: UUID,
    day: date,
    happened: Happened,
    *,
    now: datetime,
    event_id: UUID | None = None,
) -> UUID:
    """Write what happened into the care log and return the entry's id. Idempotent by event_id.

    The timetable is not made anew here: `follow_events` does that, outside the transaction.
    Who may: whoever may write. Raises NotFound; InvalidInput where no meal is waited for.
    """
    programme = programme_writable_by(actor, programme_id)
    kind, detail = _ENTRY_OF[happened]
    with transaction.atomic():
        meal = _meal_waited_for(programme, day, now) if kind is CareKind.MEAL else None
        entry = CareEntry(
            kind=kind,
            at=now,
            detail=detail,
            amount_g=meal.detail.get("bowl_g") or None if meal else None,
            event_id=event_id,
            tz_offset_min=offset_min(now, actor.zone),
        )
        row, made = add_entry(actor, programme.dog, entry, now=now)
        if made and meal is not None:
            _tick_off(meal, row.event_id, now=now)
        if made:
            audit(actor, "log-happening", str(row.event_id), now=now, what=happened.value)
    event: UUID = row.event_id
    return event


def _meal_waited_for(programme: Programme, day: date, now: datetime) -> PlanBlock:
    """Return the newest meal that should have been eaten by now and was not ticked off."""
    meals = PlanBlock.objects.filter(
        plan__programme=programme,
        plan__day=day,
        kind=BlockKind.MEAL.value,
        state=BlockState.PLANNED.value,
        starts_at__lte=now,
    )
    meal = meals.order_by("-starts_at").first()
    if meal is None:
        raise InvalidInput.of("", "No meal of the timetable is waited for; write the meal down with its grams.")
    return meal


def _tick_off(meal: PlanBlock, event_id: UUID, *, now: datetime) -> None:
    """Mark the meal done with its entry. `add_entry` has raised the plan's version already."""
    version = PlanRow.objects.values_list("version", flat=True).get(id=meal.plan_id)
    PlanBlock.objects.filter(id=meal.id, state=BlockState.PLANNED.value).update(
        state=BlockState.DONE.value, care_event=event_id, sequence=version, changed_at=now
    )
