"""Taking up a what-if: dates, sessions a day, days off and weights are changed, and the plan is made anew."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.planning.programme.what_if import Wish, wished
from pupilage.services.change_stay import Stay, change_stay
from pupilage.services.gather_plan_input import gather_plan_input
from pupilage.services.plan_programme import plan_programme
from pupilage.services.read_plan import KeptPlan
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.storage.queries.programmes import programme_writable_by


def accept_wish(actor: Actor, programme_id: UUID, wish: Wish, *, now: datetime) -> KeptPlan:
    """Change the stay and its goals as wished, both or neither, then make the plan anew.

    Who may: whoever may write. Idempotent. Raises: NotFound, Forbidden, InvalidInput, and then changes nothing.
    """
    programme = programme_writable_by(actor, programme_id)
    given = wished(gather_plan_input(actor, programme, now=now).given, wish)
    frame, goals = given.frame, [GoalChoice(aim.behaviour, aim.step, aim.weight) for aim in given.aims]
    stay = Stay(
        frame.arrival_on,
        frame.handover_on,
        frame.sessions_a_day,
        days_off=given.around.days_off,
        minutes_a_day=given.around.minutes_a_day or 0,
    )
    with transaction.atomic():
        change_stay(actor, programme_id, stay, now=now)
        if wish.weights:
            set_goals(actor, programme_id, goals, now=now)
    return plan_programme(actor, programme_id, now=now)
