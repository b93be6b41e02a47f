"""Making a day's timetable, and making it anew from now when something has happened."""

from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, PupilageError
from pupilage.core.words import Sentence
from pupilage.services.collect_day import Collected, collect_day
from pupilage.services.keep_day_plan import FollowedPlan, keep_day_plan
from pupilage.services.read_day_plan import StoredPlan, timetable_day
from pupilage.services.solve_day import solve_day
from pupilage.storage.models import Programme
from pupilage.storage.queries.day_plans import find_stored_plan
from pupilage.storage.queries.programmes import find_programme_of, programme_writable_by

FIRST_S = 0.1
"""Seconds for the plan that is shown at once."""

BETTER_S = 2.0
"""Seconds for the one that replaces it."""

MOST_TRIES = 4
"""Somebody else's change came between: the day is collected and solved again, so often at most."""


def make_day_plan(
    actor: Actor,
    programme_id: UUID,
    day: date,
    *,
    now: datetime,
    seconds: float = BETTER_S,
    late: tuple[str, ...] = (),
) -> StoredPlan:
    """Make the timetable of a day, from `now` on where the day has begun, and return it as it stands afterwards.

    What is ticked off stays; the blocks named by `late` were due, are not done yet, and are placed anew. Where no plan
    can be made the last good one stays, and says why there is no newer one.
    The solver runs outside any transaction; a plan made from less than what is known by then is thrown away and made
    again. Who may: whoever may write. Raises NotFound; InvalidInput for a day that is over or outside the stay; and
    InvalidInput or Conflict where there is not even an old plan.
    """
    programme = programme_writable_by(actor, programme_id)
    now = require_aware(now, "now")
    _require_day(programme, day, timetable_day(now, actor.zone))
    for _ in range(MOST_TRIES):
        collected = collect_day(actor, programme, day, now=now, late=late)
        followed = _follow(actor, collected, now=now, seconds=seconds)
        if keep_day_plan(actor, programme, followed, now=now):
            break
    kept = find_stored_plan(programme, day)
    if kept is None:
        raise Conflict("Too much was changed at once to make a timetable; ask for it again.")
    return kept


def follow_events(actor: Actor, dog_id: UUID, *, now: datetime) -> None:
    """Make today's timetable anew from now after something was written down about a dog, where there is one.

    Who may: whoever may write. What cannot be planned is said on the timetable, never raised: the entry stands.
    """
    programme = find_programme_of(actor, dog_id)
    day = timetable_day(now, actor.zone)
    if programme is None or (stored := find_stored_plan(programme, day)) is None or not stored.is_stale:
        return
    try:
        make_day_plan(actor, programme.id, day, now=now, seconds=FIRST_S)
    except (Conflict, InvalidInput):
        return


def _require_day(programme: Programme, day: date, today: date) -> None:
    if day < today:
        raise InvalidInput.of("day", "{day} is over; nothing of it can be planned any more.", day=day.isoformat())
    if not programme.arrival_on <= day <= programme.handover_on:
        raise InvalidInput.of(
            "day",
            "On {day} there is no timetable: the pup is here from {arrival} to {handover}.",
            day=day.isoformat(),
            arrival=programme.arrival_on.isoformat(),
            handover=programme.handover_on.isoformat(),
        )


def _follow(actor: Actor, collected: Collected, *, now: datetime, seconds: float) -> FollowedPlan:
    """Return the new plan, or the one before with its blocks marked and the reason why there is no newer one."""
    before = collected.before
    version = before.version if before else 0
    try:
        plan = solve_day(collected, zone=actor.zone, now=now, seconds=seconds)
    except PupilageError as error:
        if before is None or not before.blocks:
            raise
        old = replace(before.plan, blocks=collected.blocks)
        return FollowedPlan(old, version, collected.entries, tuple(_sentences(error)))
    return FollowedPlan(plan, version, collected.entries)


def _sentences(error: PupilageError) -> list[Sentence]:
    return [problem.sentence for problem in error.problems] if isinstance(error, InvalidInput) else [error.sentence]
