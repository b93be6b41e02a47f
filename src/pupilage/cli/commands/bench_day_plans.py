"""`pupilage bench day-plans`: how fast a day's timetable is there, how good it is known to be, and what it needs."""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.planning.day.blocks import DayPlan
    from pupilage.core.planning.day.frame import DayFrame

HEAD = ("day", "what", "measured", "goal", "how")
N_REPEATS = 5

Row = tuple[str, str, str, str, str]


@click.command("day-plans")
@click.option("--repeats", default=N_REPEATS, show_default=True, type=click.IntRange(1), help="Runs of each day.")
@json_option
def day_plans(repeats: int, as_json: bool = False) -> None:
    """Measure the day's timetable: first plan, proven optimum, planning again from now, memory."""
    rows = [row for name, frame in days().items() for row in measure(name, frame, repeats)]
    rows.append(("all", "memory of the process", f"{_memory_mb():.0f} MB", "under 500 MB", "greatest, all of it"))
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def days() -> "dict[str, DayFrame]":
    """Return the days that are measured: a usual one at three ages, one with appointments, and a full one."""
    from datetime import UTC, date, datetime
    from datetime import time as clock_time

    from pupilage.core.care.toilet.limits import OutingLimits
    from pupilage.core.catalogue.behaviour import Place
    from pupilage.core.planning.day.frame import Appointment, DayExposure, DayFrame, DayMeal, QuietHours
    from pupilage.core.planning.planned_session import PlannedSession, Purpose

    def sessions(behaviours: str) -> tuple[PlannedSession, ...]:
        return tuple(PlannedSession(one, "step", Purpose.TEACH, 3, Place.QUIET_ROOM) for one in behaviours.split())

    usual = DayFrame(
        day=date(2026, 5, 4),
        zone=UTC,
        wake=clock_time(6),
        last_outing=clock_time(22),
        age_weeks=9.0,
        limits=OutingLimits(45, 150, 240),
        meals=(DayMeal(40.0, 20.0),) * 4,
        sessions=sessions("sit down recall sit down mat"),
        exposures=(DayExposure("a tram"),),
        quiet=(QuietHours(clock_time(13), clock_time(15)),),
        resident_min=40,
    )

    def busy(start: int, end: int, words: str, *, comes_along: bool = False) -> Appointment:
        hours = [datetime(2026, 5, 4, tzinfo=UTC).replace(hour=m // 60, minute=m % 60) for m in (start, end)]
        return Appointment(*hours, words, comes_along=comes_along)

    appointments = (busy(545, 610, "call"), busy(840, 865, "vet", comes_along=True), busy(1000, 1100, "shopping"))
    full = replace(
        usual,
        age_weeks=13.0,
        limits=OutingLimits(75, 200, 300),
        sessions=sessions("sit down recall mat touch heel drop stay"),
        exposures=(DayExposure("a tram"), DayExposure("rain")),
    )
    return {
        "9 weeks": usual,
        "13 weeks": replace(usual, age_weeks=13.0, limits=OutingLimits(75, 200, 300)),
        "18 weeks, 3 meals": replace(usual, age_weeks=18.0, limits=OutingLimits(110, 280, 420), meals=usual.meals[:3]),
        "9 weeks, 3 appointments": replace(usual, appointments=appointments),
        "13 weeks, 8 sessions, 2 exposures": full,
    }


def measure(name: str, frame: "DayFrame", repeats: int) -> list[Row]:
    """Return what one day took: each the quickest of so many runs."""
    from pupilage.core.planning.day.planning import first_plan, plan_day
    from pupilage.core.planning.day.weighing import cost_of

    def best() -> "DayPlan":
        return plan_day(frame, seconds=60)

    plan, first = best(), first_plan(frame)
    how = f"quickest of {repeats}"
    status = f"{plan.solution.status}, gap {plan.solution.gap:.1%}, cost {cost_of(plan.broken):g}"
    optimum = _quickest(best, repeats)
    rows = [
        ("first plan", _quickest(lambda: first_plan(frame), repeats), "under 0.1 s", how),
        ("the first one's cost", f"{cost_of(first.broken) / cost_of(plan.broken):.2f} × the optimum's", "–", ""),
        ("proven within 1 %", optimum, "under 2 s", "with the optimum, at once"),
        ("proven optimum", optimum, "under 5 s", f"{how}; {status}"),
    ]
    rows += [_again(frame, plan, hours, repeats) for hours in (0.5, 4.0, 9.0)]
    return [(name, *row) for row in rows]


def _again(frame: "DayFrame", plan: "DayPlan", hours: float, repeats: int) -> tuple[str, str, str, str]:
    """Log an accident so many hours after waking and plan the rest of the day again."""
    from datetime import timedelta

    from pupilage.core.planning.day.replanning import Happening, HappeningKind, replan

    now = frame.wake_at + timedelta(hours=hours)
    accident = Happening(HappeningKind.ACCIDENT, now)
    found: list[DayPlan] = []

    def again() -> None:
        found.append(replan(frame, plan, now=now, happened=[accident]))

    seconds = _quickest(again, repeats)
    how = f"an accident; {found[-1].solution.status}"
    return f"planned again {hours:g} h after waking", seconds, "under 0.5 s", how


def _quickest(run: Callable[[], object], repeats: int) -> str:
    """Return the quickest run's time and the least of the processor's: on a busy machine the two are far apart."""
    took, worked = [], []
    for _ in range(repeats):
        start, busy = time.perf_counter(), time.process_time()
        run()
        took.append(time.perf_counter() - start)
        worked.append(time.process_time() - busy)
    return f"{min(took):.3f} s, {min(worked):.3f} s of CPU"


def _memory_mb() -> float:
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
