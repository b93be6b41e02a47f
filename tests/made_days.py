"""Timetables written by hand, for the tests of what keeps, shows and sends them."""

from datetime import UTC, date, datetime, timedelta

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, BrokenRule, DayPlan, Solution
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.words import sentence

DAY = date(2026, 5, 12)
"""The day of the tests' NOW: 08:30 UTC is 09:30 in Lisbon."""


def at(clock: str, day: date = DAY) -> datetime:
    """Return a time of the day in UTC."""
    hours, minutes = map(int, clock.split(":"))
    return datetime(day.year, day.month, day.day, hours, minutes, tzinfo=UTC)


def block(key: str, start: str, end: str, **more: object) -> Block:
    """Return a block; its kind is the word before the dash of its key."""
    return Block(key, BlockKind(key.partition("-")[0]), at(start), at(end), **more)


def hand_made(*, last_outing: str = "21:30", status: str = "optimal") -> DayPlan:
    """Return a short day: 06:00 to 21:40 UTC."""
    last_end = (at(last_outing) + timedelta(minutes=10)).strftime("%H:%M")
    session = PlannedSession("sit", "first", Purpose.TEACH, 5, Place.HOME, reinforcer="dry food", pieces=12)
    return DayPlan(
        day=DAY,
        blocks=(
            block("outing-1", "06:00", "06:10", reason=sentence("The pup has woken: out within 5 minutes.")),
            block("meal-1", "06:20", "06:35", bowl_g=40.0, pouch_g=12.0),
            block("nap-1", "07:00", "08:25"),
            block("outing-2", "08:25", "08:35", reason=sentence("After {n} minutes of sleep.", n=85)),
            block("session-1", "08:40", "08:45", session=session),
            block("play-1", "08:50", "09:00"),
            block("outing-3", "09:00", "09:05"),
            block("nap-2", "09:10", "10:40"),
            block("outing-4", "10:40", "10:50"),
            block("meal-2", "11:00", "11:15", bowl_g=40.0),
            block("appointment-1", "13:00", "14:00", words="Dentist; bring card, keys"),
            block("outing-9", last_outing, last_end),
        ),
        broken=(BrokenRule("quiet", 3.0, 10.0, "min", sentence("Play in the quiet time: {n} minutes.", n=10)),),
        solution=Solution(status, 0.0 if status == "optimal" else 0.04, 0.2),
    )


def states(plan: DayPlan) -> dict[str, BlockState]:
    """Return what became of every block."""
    return {one.key: one.state for one in plan.blocks}
