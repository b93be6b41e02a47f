"""From what a day is made from to its timetable: the one place that speaks to the solver."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta, tzinfo

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, DayPlan
from pupilage.core.planning.day.following import STILL_DUE, follow_log, happenings_of, mark
from pupilage.core.planning.day.frame import Appointment, DayFrame, DayMeal, QuietHours
from pupilage.core.planning.day.planning import first_plan, plan_day
from pupilage.core.planning.day.replanning import Happening, HappeningKind, replan
from pupilage.core.planning.day.rules import SoftRule
from pupilage.core.planning.planned_session import PlannedSession
from pupilage.services.collect_day import Busy, Collected

UNKNOWN_G = 0.0
"""What the solver is told of a meal where no daily ration is entered; the timetable then shows no grams."""

WAKES_EARLY = timedelta(hours=2)
"""An entry of the care log is about this day from so long before the usual waking on."""


def solve_day(collected: Collected, *, zone: tzinfo, now: datetime, seconds: float) -> DayPlan:
    """Return the timetable of a day: all of it before the day begins, else from `now` on.

    seconds: for the solver. Raises InvalidInput that names what clashes where no plan keeps every hard rule.
    """
    frame = frame_of(collected, zone)
    events = happened(collected.care, since=frame.wake_at - WAKES_EARLY, until=now)
    if now <= frame.wake_at and not events and not _is_begun(collected.blocks):
        plan = plan_day(frame, seconds=seconds)
    else:
        plan = _from_now(collected, frame, events, now=now, seconds=seconds)
    return plan if _grams_known(collected) else _without_grams(plan)


def _from_now(
    collected: Collected, frame: DayFrame, events: list[Happening], *, now: datetime, seconds: float
) -> DayPlan:
    """Return the day from `now` on; of a day without a timetable, what was so far is taken to be as usual."""
    before = collected.before
    if before is None:
        plan = _as_the_log_says(first_plan(frame), collected.care)
        late = _unheld(plan.blocks, by=now)
    else:
        plan = replace(before.plan, blocks=collected.blocks)
        late = [*collected.late, *_unheld(plan.blocks, by=now - STILL_DUE)]
        frame = _as_free_as_it_was(frame, before.plan.solution.status)
    sessions = (*_held(plan.blocks), *frame.sessions)
    told = [*events, *(Happening(HappeningKind.LATE, now, key) for key in dict.fromkeys(late))]
    return replan(replace(frame, sessions=sessions), plan, now=now, happened=told, seconds=seconds)


def _as_the_log_says(plan: DayPlan, care: Iterable[CareEvent]) -> DayPlan:
    """Return a plan of the whole day, what was written down of it so far done."""
    return replace(plan, blocks=mark(plan.blocks, follow_log(plan.blocks, happenings_of(care))))


def frame_of(collected: Collected, zone: tzinfo) -> DayFrame:
    """Return the day's frame as the solver reads it. Its sessions are those still to be held."""
    chosen = collected.preferences
    return DayFrame(
        day=collected.day,
        zone=zone,
        wake=chosen.wake,
        last_outing=chosen.last_outing,
        age_weeks=collected.age_weeks,
        limits=collected.limits,
        meals=tuple(DayMeal(meal.bowl_g or UNKNOWN_G, meal.pouch_g, meal.at) for meal in collected.meals),
        sessions=collected.sessions,
        exposures=collected.exposures,
        appointments=tuple(_appointment(one) for one in collected.busy if not one.whole_day),
        quiet=tuple(QuietHours(start, end) for start, end in chosen.quiet),
        resident_min=chosen.resident_min if collected.has_resident else None,
        weights=chosen.weights,
    )


def happened(care: Iterable[CareEvent], *, since: datetime, until: datetime) -> list[Happening]:
    """Return what the care log says that moves a timetable: outings, accidents, and waking."""
    kinds = ((event, _kind_of(event)) for event in care if since <= event.at <= until)
    return [Happening(kind, event.at) for event, kind in kinds if kind is not None]


def _kind_of(event: CareEvent) -> HappeningKind | None:
    match event.kind, event.detail:
        case CareKind.OUTING, CareDetail.NOTHING:
            return HappeningKind.EMPTY
        case CareKind.OUTING, _:
            return HappeningKind.OUTING
        case CareKind.INDOORS, _:
            return HappeningKind.ACCIDENT
        case ((CareKind.NAP | CareKind.CRATE), CareDetail.END):
            return HappeningKind.WOKE
    return None


def _is_begun(blocks: Iterable[Block]) -> bool:
    return any(block.state is not BlockState.PLANNED for block in blocks)


def _held(blocks: Iterable[Block]) -> list[PlannedSession]:
    """Return the sessions that were held by the plan: the solver takes them off what it is asked for."""
    return [b.session for b in blocks if b.session is not None and b.state is BlockState.DONE]


def _unheld(blocks: Iterable[Block], *, by: datetime) -> list[str]:
    """Return the sessions whose time is over and of which nothing was recorded: they are placed again."""
    return [
        block.key
        for block in blocks
        if block.kind is BlockKind.SESSION and block.state is BlockState.PLANNED and block.end <= by
    ]


def _as_free_as_it_was(frame: DayFrame, status: str) -> DayFrame:
    """Return the frame; a first plan was only a beginning, and nothing holds the better one to it."""
    if status != "first":
        return frame
    return replace(frame, weights={**frame.weights, SoftRule.KEEP_PLAN.value: 0.0})


def _appointment(one: Busy) -> Appointment:
    return Appointment(one.start, one.end, one.words, comes_along=one.comes_along, covered=one.covered)


def _grams_known(collected: Collected) -> bool:
    return all(meal.bowl_g is not None for meal in collected.meals)


def _without_grams(plan: DayPlan) -> DayPlan:
    blocks = tuple(replace(block, bowl_g=None, pouch_g=None) for block in plan.blocks)
    return replace(plan, blocks=blocks)
