"""From what a day is made from to its timetable: the one place that speaks to the solver."""

from dataclasses import replace
from datetime import datetime, tzinfo

from pupilage.core.planning.day.blocks import DayPlan
from pupilage.core.planning.day.frame import Appointment, DayFrame, DayMeal, QuietHours
from pupilage.core.planning.day.planning import plan_day
from pupilage.services.collect_day import Busy, Collected

UNKNOWN_G = 0.0
"""What the solver is told of a meal where no daily ration is entered; the timetable then shows no grams."""


def solve_day(collected: Collected, *, zone: tzinfo, now: datetime, seconds: float) -> DayPlan:
    """Return the timetable of a day: all of it before the day begins, else from `now` on.

    seconds: for the solver. Raises InvalidInput that names what clashes where no plan keeps every hard rule.
    """
    frame = frame_of(collected, zone)
    plan = plan_day(frame, seconds=seconds)
    return plan if _grams_known(collected) else _without_grams(plan)


def frame_of(collected: Collected, zone: tzinfo) -> DayFrame:
    """Return the day's frame as the solver reads it."""
    chosen = collected.preferences
    return DayFrame(
        day=collected.day,
        zone=zone,
        wake=chosen.wake,
        last_outing=chosen.last_outing,
        age_weeks=collected.age_weeks,
        limits=collected.limits,
        meals=tuple(DayMeal(bowl_g=meal.bowl_g or UNKNOWN_G, usual=meal.at) for meal in collected.meals),
        sessions=collected.sessions,
        appointments=tuple(_appointment(one) for one in collected.busy if not one.whole_day),
        quiet=tuple(QuietHours(start, end) for start, end in chosen.quiet),
        resident_min=chosen.resident_min if collected.has_resident else None,
        weights=chosen.weights,
    )


def _appointment(one: Busy) -> Appointment:
    return Appointment(one.start, one.end, one.words, comes_along=one.comes_along, covered=one.covered)


def _grams_known(collected: Collected) -> bool:
    return all(meal.bowl_g is not None for meal in collected.meals)


def _without_grams(plan: DayPlan) -> DayPlan:
    blocks = tuple(replace(block, bowl_g=None, pouch_g=None) for block in plan.blocks)
    return replace(plan, blocks=blocks)
