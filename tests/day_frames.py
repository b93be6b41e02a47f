"""Days for the tests of the timetable: one usual day, and days drawn by hypothesis."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.day.frame import Appointment, DayExposure, DayFrame, DayMeal, QuietHours
from pupilage.core.planning.planned_session import PlannedSession, Purpose

LISBON = ZoneInfo("Europe/Lisbon")
DAY = date(2026, 5, 4)
CLOCKS_FORWARD, CLOCKS_BACK = date(2026, 3, 29), date(2026, 10, 25)
"""Summer time begins and ends on these days in Lisbon."""


def session(behaviour: str, minutes: int = 3, purpose: Purpose = Purpose.TEACH) -> PlannedSession:
    return PlannedSession(behaviour, "step", purpose, minutes, Place.QUIET_ROOM)


USUAL = DayFrame(
    day=DAY,
    zone=LISBON,
    wake=time(6, 30),
    last_outing=time(22, 30),
    age_weeks=9.0,
    limits=OutingLimits(45, 150, 240),
    meals=(DayMeal(40.0, 20.0),) * 4,
    sessions=tuple(session(behaviour) for behaviour in ("sit", "down", "recall", "sit", "down", "mat")),
    exposures=(DayExposure("a tram", 10),),
    resident_min=40,
    quiet=(QuietHours(time(13), time(15)),),
)


def day_frame(**changes: Any) -> DayFrame:
    """Return the usual day with these changes."""
    return replace(USUAL, **changes)


def at(hour: int, minute: int = 0, day: date = DAY) -> datetime:
    """Return an instant of the day."""
    return datetime.combine(day, time(hour, minute), tzinfo=LISBON)


def appointment(start: datetime, minutes: int, words: str = "dentist", **how: bool) -> Appointment:
    return Appointment(start, start + timedelta(minutes=minutes), words, **how)


@st.composite
def appointments(draw: st.DrawFn, day: date) -> tuple[Appointment, ...]:
    """Up to three appointments that do not overlap, at any minute."""
    found, minute = [], 8 * 60
    for number in range(draw(st.sampled_from([0, 0, 1, 2, 3]))):
        minute += draw(st.integers(0, 200))
        length = draw(st.integers(10, 140))
        if minute + length < 20 * 60:
            start = datetime.combine(day, time(minute // 60, minute % 60), tzinfo=LISBON)
            along = draw(st.booleans()) and length < 40
            found.append(appointment(start, length, f"a{number}", comes_along=along, covered=draw(st.booleans())))
        minute += length
    return tuple(found)


@st.composite
def frames(draw: st.DrawFn) -> DayFrame:
    """Any day that a trainer might enter, those on which the clocks change among them."""
    day = draw(st.sampled_from([DAY, CLOCKS_FORWARD, CLOCKS_BACK, date(2026, 3, 28), date(2026, 10, 24)]))
    usual = st.none() | st.builds(time, st.integers(7, 20), st.sampled_from([0, 15, 40]))
    meal = st.builds(DayMeal, st.floats(5, 80), st.floats(0, 40), usual)
    lesson = st.builds(session, st.sampled_from("abcd"), st.sampled_from([1, 2, 3, 5, 8]), st.sampled_from(Purpose))
    return DayFrame(
        day=day,
        zone=LISBON,
        wake=draw(st.builds(time, st.integers(5, 8), st.sampled_from([0, 15, 32]))),
        last_outing=draw(st.builds(time, st.integers(21, 23), st.sampled_from([0, 20, 58]))),
        age_weeks=draw(st.floats(6.5, 30)),
        limits=OutingLimits(draw(st.integers(25, 120)), draw(st.integers(90, 300)), draw(st.integers(100, 480))),
        meals=tuple(draw(st.lists(meal, min_size=2, max_size=4))),
        sessions=tuple(draw(st.lists(lesson, max_size=8))),
        exposures=tuple(DayExposure(f"x{n}", 10) for n in range(draw(st.integers(0, 2)))),
        appointments=draw(appointments(day)),
        quiet=draw(st.sampled_from([(), (QuietHours(time(13), time(15)),), (QuietHours(time(20), time(7)),)])),
        resident_min=draw(st.sampled_from([None, 30, 90])),
        play_min=draw(st.sampled_from([0, 20, 40, 60])),
        chew_min=draw(st.sampled_from([0, 20, 40])),
        outing_min=draw(st.sampled_from([5, 10])),
    )
