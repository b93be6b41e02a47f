"""What an entry of the care log changes on the Today page: the next outing, the ration, the day so far."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import Outing
from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.food.ration import RunningTotal, total_so_far
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.toilet.next_outing import next_outing
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.incidents.lasting import TOGETHER_WITHIN, OddTap, Running, read_lasting
from pupilage.services.read_day_plan import timetable_day
from pupilage.storage.models import Dog, Programme, TrainingSession
from pupilage.storage.queries.day_plans import StoredPlan, find_stored_plan
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.food import list_rewards
from pupilage.storage.queries.programmes import find_programme_of, outing_risk_of

LEARNED_FROM = timedelta(days=30)
"""How far back the log is read for the next outing: what a pup was like before that is of another age."""


UNKNOWN_PIECE_G = 0.5
"""Of a reinforcer that is no longer on any list: only its name is told, as not counted."""


@dataclass(frozen=True)
class CarePanel:
    """The next outing with its reason, the ration, today's entries in time order, and the timetable of the stay.

    ration: None when no daily ration is entered; programme_id: of the stay, None for a dog that has none or outside
    of it; timetable: None before the first was made; day: its day; open_session: one of today that has not been ended;
    around: what lasts around the pup at this moment; odd: today's taps of it that the rule had to judge.
    """

    outing: Outing
    ration: RunningTotal | None
    care: tuple[CareEvent, ...]
    day: date
    programme_id: UUID | None = None
    timetable: StoredPlan | None = None
    open_session: UUID | None = None
    around: tuple[Running, ...] = ()
    odd: tuple[OddTap, ...] = ()


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

    Three queries, one fewer without a ration. The risk between two outings is the stay's.
    """
    start, end = day_bounds(local_day(now, actor.zone), actor.zone)
    sessions = list(sessions_today)
    risk = outing_risk_of(dog) if programme is None else programme.outing_risk
    care = list_care_events(dog, since=start - LEARNED_FROM, until=end)
    today = [event for event in care if event.at >= start]
    day = timetable_day(now, actor.zone)
    lasting = read_lasting([event for event in care if event.at >= start - TOGETHER_WITHIN], actor.zone)
    if programme is not None and not programme.arrival_on <= day <= programme.handover_on:
        programme = None
    return CarePanel(
        outing=next_outing(care, born_on=dog.born_on, zone=actor.zone, now=now, risk=risk),
        ration=_total(actor, dog, today, sessions),
        care=tuple(today),
        day=day,
        programme_id=programme.id if programme else None,
        timetable=find_stored_plan(programme, day) if programme else None,
        open_session=next((row.id for row in sessions if row.ended_at is None), None),
        around=lasting.running(now),
        odd=tuple(one for one in lasting.odd if one.at >= start),
    )


def _total(
    actor: Actor, dog: Dog, today: list[CareEvent], sessions_today: Iterable[TrainingSession]
) -> RunningTotal | None:
    if dog.daily_food_g is None:
        return None
    meals = [event.amount_g for event in today if event.kind is CareKind.MEAL]
    known = {reward.name: reward for reward in list_rewards(actor, dog, retired=True)}
    pieces = [
        (known.get(name) or Reward(name, UNKNOWN_PIECE_G), n)
        for session in sessions_today
        for name, n in (session.pieces_by or {session.reinforcer: session.pieces_given}).items()
        if name
    ]
    return total_so_far(dog.daily_food_g, dog.food_kcal_per_100g or None, meals, pieces)
