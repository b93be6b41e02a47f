"""Changing the frame of a stay: its dates, sessions and minutes a day, days off, the risk between outings."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.toilet.limits import LEAST_RISK, MOST_RISK
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.programme.room import minutes_problems
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_from
from pupilage.services.start_programme import stay_problems
from pupilage.storage.queries.programmes import programme_writable_by
from pupilage.storage.queries.sessions import sessions_readable_by

CHANGED = ["arrival_on", "handover_on", "sessions_a_day", "outing_risk", "days_off", "minutes_a_day"]


@dataclass(frozen=True)
class Stay:
    """The frame of a stay. What is None stays as it is.

    outing_risk: the chance of an accident between two outings; days_off: days without training; minutes_a_day: the
    trainer's for training and for meeting the world, 0 where they are not limited.
    """

    arrival_on: date
    handover_on: date
    sessions_a_day: int
    outing_risk: float | None = None
    days_off: tuple[date, ...] | None = None
    minutes_a_day: int | None = None


def change_stay(actor: Actor, programme_id: UUID, stay: Stay, *, now: datetime) -> None:
    """Give a programme other dates, another number of sessions a day or other days off. Idempotent.

    Who may: whoever may write. Raises InvalidInput with every problem at once, and then changes nothing.
    """
    programme = programme_writable_by(actor, programme_id)
    today = local_day(now, actor.zone)
    problems = stay_problems(stay.arrival_on, stay.handover_on, stay.sessions_a_day, today=today)
    first = sessions_readable_by(actor).filter(programme=programme).order_by("started_at").first()
    if first is not None and first.started_at < day_bounds(stay.arrival_on, actor.zone)[0]:
        day = local_day(first.started_at, actor.zone).isoformat()
        problems.append(Problem("arrival_on", "There is a session of {day}; the arrival cannot be later.", day=day))
    if stay.outing_risk is not None and not LEAST_RISK <= stay.outing_risk <= MOST_RISK:
        problems.append(Problem("outing_risk", "Give a chance from 1 to 20 in a hundred."))
    problems += minutes_problems(stay.minutes_a_day or None)
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        programme.arrival_on = stay.arrival_on
        programme.handover_on = stay.handover_on
        programme.sessions_a_day = stay.sessions_a_day
        if stay.outing_risk is not None:
            programme.outing_risk = stay.outing_risk
        if stay.days_off is not None:
            programme.days_off = sorted({day.isoformat() for day in stay.days_off})
        if stay.minutes_a_day is not None:
            programme.minutes_a_day = stay.minutes_a_day or None
        programme.save(update_fields=CHANGED)
        touch_plans_from(actor, programme, now)
        audit(actor, "change-stay", str(programme.id), now=now, handover_on=stay.handover_on.isoformat())
