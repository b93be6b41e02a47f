"""What an entry of the care log changes on the Today page: the next outing, the ration, the day so far."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import Outing, next_outing
from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.ration import ration_left
from pupilage.core.clock import day_bounds, local_day
from pupilage.services.read_day_plan import timetable_day
from pupilage.storage.models import Dog, Programme, TrainingSession
from pupilage.storage.queries.day_plans import StoredPlan, find_stored_plan
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events, list_reinforcers
from pupilage.storage.queries.programmes import find_programme_of


@dataclass(frozen=True)
class Ration:
    """The day's food in grams; left may be negative. None when no daily ration is entered."""

    daily_g: float
    left_g: float


@dataclass(frozen=True)
class CarePanel:
    """The next outing with its reason, the ration, today's entries in time order, and the timetable of the stay.

    programme_id: of the stay, None for a dog that has none or outside of it; timetable: None before the first was
    made; day: its day; open_session: one of today that has not been ended.
    """

    outing: Outing
    ration: Ration | None
    care: tuple[CareEvent, ...]
    day: date
    programme_id: UUID | None = None
    timetable: StoredPlan | None = None
    open_session: UUID | None = None


def read_care_panel(actor: Actor, dog_id: UUID, *, now: datetime) -> CarePanel:
    """Return a dog's care panel. Who may: whoever may read. Raises NotFound."""
    dog = dog_readable_by(actor, dog_id)
    start, _ = day_bounds(local_day(now, actor.zone), actor.zone)
    sessions = TrainingSession.objects.filter(
        workspace_id=actor.workspace_id, programme__dog=dog, started_at__gte=start
    )
    return care_panel_of(actor, dog, sessions, find_programme_of(actor, dog_id), now=now)


def care_panel_of(
    actor: Actor, dog: Dog, sessions_today: Iterable[TrainingSession], programme: Programme | None, *, now: datetime
) -> CarePanel:
    """Return the panel of a dog whose stay and sessions of today are at hand.

    Three queries, one fewer without a ration.
    """
    start, end = day_bounds(local_day(now, actor.zone), actor.zone)
    sessions = list(sessions_today)
    care = list_care_events(dog, since=start - timedelta(days=1), until=end)
    today = [event for event in care if event.at >= start]
    day = timetable_day(now, actor.zone)
    if programme is not None and not programme.arrival_on <= day <= programme.handover_on:
        programme = None
    return CarePanel(
        outing=next_outing(care, born_on=dog.born_on, zone=actor.zone, now=now),
        ration=_ration(actor, dog, today, sessions),
        care=tuple(today),
        day=day,
        programme_id=programme.id if programme else None,
        timetable=find_stored_plan(programme, day) if programme else None,
        open_session=next((row.id for row in sessions if row.ended_at is None), None),
    )


def _ration(actor: Actor, dog: Dog, today: list[CareEvent], sessions_today: Iterable[TrainingSession]) -> Ration | None:
    if dog.daily_food_g is None:
        return None
    meals = [event.amount_g or 0.0 for event in today if event.kind is CareKind.MEAL]
    grams = {r.name: r.piece_g for r in list_reinforcers(actor) if r.from_ration}
    pieces = [
        (grams[session.reinforcer], session.pieces_given) for session in sessions_today if session.reinforcer in grams
    ]
    return Ration(dog.daily_food_g, ration_left(dog.daily_food_g, meals_g=meals, pieces=pieces))
