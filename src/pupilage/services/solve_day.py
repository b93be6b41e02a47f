"""From what a day is made from to its timetable: the one place that speaks to the solver."""

from datetime import datetime, tzinfo

from pupilage.core.planning.day.blocks import DayPlan
from pupilage.services.collect_day import Collected


def solve_day(collected: Collected, *, zone: tzinfo, now: datetime, seconds: float) -> DayPlan:
    """Return the timetable of a day. seconds: for the solver."""
    raise NotImplementedError
