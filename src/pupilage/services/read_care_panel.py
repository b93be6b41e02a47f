"""What an entry of the care log changes on the Today page: the next outing, the ration, the day so far."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import Outing
from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.food.ration import RunningTotal, total_so_far
from pupilage.core.care.food.rewards import Reward
from pupilage.core.care.toilet.next_outing import next_outing
from pupilage.core.clock import day_bounds, local_day
from pupilage.storage.models import Dog, TrainingSession
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.food import list_rewards
from pupilage.storage.queries.programmes import outing_risk_of

LEARNED_FROM = timedelta(days=30)
"""How far back the log is read for the next outing: what a pup was like before that is of another age."""


UNKNOWN_PIECE_G = 0.5
"""Of a reinforcer that is no longer on any list: only its name is told, as not counted."""


@dataclass(frozen=True)
class CarePanel:
    """The next outing with its reason, the ration, and today's entries in time order.

    ration: None when no daily ration is entered.
    """

    outing: Outing
    ration: RunningTotal | None
    care: tuple[CareEvent, ...]


def read_care_panel(actor: Actor, dog_id: UUID, *, now: datetime) -> CarePanel:
    """Return a dog's care panel. Who may: whoever may read. Raises NotFound."""
    dog = dog_readable_by(actor, dog_id)
    start, _ = day_bounds(local_day(now, actor.zone), actor.zone)
    sessions = TrainingSession.objects.filter(
        workspace_id=actor.workspace_id, programme__dog=dog, started_at__gte=start
    )
    return care_panel_of(actor, dog, sessions, risk=outing_risk_of(dog), now=now)


def care_panel_of(
    actor: Actor, dog: Dog, sessions_today: Iterable[TrainingSession], *, risk: float, now: datetime
) -> CarePanel:
    """Return the panel of a dog whose sessions of today are at hand. Two queries, or one without a ration.

    risk: the chance of an accident between two outings that the trainer takes.
    """
    start, end = day_bounds(local_day(now, actor.zone), actor.zone)
    care = list_care_events(dog, since=start - LEARNED_FROM, until=end)
    today = [event for event in care if event.at >= start]
    return CarePanel(
        outing=next_outing(care, born_on=dog.born_on, zone=actor.zone, now=now, risk=risk),
        ration=_total(actor, dog, today, sessions_today),
        care=tuple(today),
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
