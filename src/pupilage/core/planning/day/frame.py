"""What a day's timetable is planned from: its bounds, what is fixed, and what is to be placed."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from pupilage.core import clock
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.day.rules import DEFAULT_WEIGHTS
from pupilage.core.planning.planned_session import PlannedSession

GRID_MIN = 5
GRID = timedelta(minutes=GRID_MIN)

YOUNGEST_WEEKS = 6.0
OLDEST_WEEKS = 52.0
MOST_MEALS = 6
MOST_SESSIONS = 20
MOST_EXPOSURES = 4
MOST_PLAY_MIN = 120
LONGEST_THING_MIN = 120

AWAKE_BELOW_WEEKS = ((8.0, (30, 45)), (10.0, (45, 60)), (12.0, (45, 75)), (16.0, (60, 90)))
AWAKE_LATER = (60, 120)
"""From memory: awake for 45-60 min at 8-10 weeks, 60-90 at 12-16; the other rows are carried on from these."""

NAP_MIN = (60, 120)
"""From memory: a quiet nap of one to two hours after each awake block."""


@dataclass(frozen=True)
class Appointment:
    """When the trainer is busy. start, end: aware instants; comes_along: the pup is with the trainer, else it rests.

    covered: somebody else is there who takes the pup out meanwhile.
    """

    start: datetime
    end: datetime
    words: str
    comes_along: bool = False
    covered: bool = False


@dataclass(frozen=True)
class DayMeal:
    """One meal. bowl_g: into the bowl; pouch_g: kept for the rewards until the next; usual: its usual local time."""

    bowl_g: float
    pouch_g: float = 0.0
    usual: time | None = None


@dataclass(frozen=True)
class DayExposure:
    """Something that the pup is to meet today, at its own pace. minutes: what is set aside for it."""

    words: str
    minutes: int = 10


@dataclass(frozen=True)
class QuietHours:
    """Local times between which nothing loud is played; an end before the start reaches over midnight."""

    start: time
    end: time


@dataclass(frozen=True)
class DayFrame:
    """A local day to be planned. wake, last_outing: local times; sessions: the more important ones first.

    resident_min: the resident dog's own time, None where there is no other dog; play_min, chew_min: of the whole day;
    outing_min, meal_min: how long one lasts; weights: of the soft rules (`rules.DEFAULT_WEIGHTS`; left out = default).
    Raises InvalidInput with everything that is wrong.
    """

    day: date
    zone: tzinfo
    wake: time
    last_outing: time
    age_weeks: float
    limits: OutingLimits
    meals: tuple[DayMeal, ...]
    sessions: tuple[PlannedSession, ...] = ()
    exposures: tuple[DayExposure, ...] = ()
    appointments: tuple[Appointment, ...] = ()
    quiet: tuple[QuietHours, ...] = ()
    resident_min: int | None = None
    play_min: int = 40
    chew_min: int = 40
    outing_min: int = GRID_MIN
    meal_min: int = 10
    weights: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        problems = [*_wrong_day(self), *_wrong_things(self), *_wrong_weights(self)]
        if problems:
            raise InvalidInput(problems)

    @property
    def wake_at(self) -> datetime:
        """The instant of waking, in UTC, on the grid (rounded up)."""
        return grid_up(self.instant(self.wake))

    @property
    def last_outing_at(self) -> datetime:
        """The instant at which the last outing begins, in UTC, on the grid (rounded down)."""
        return grid_down(self.instant(self.last_outing))

    @property
    def next_wake_at(self) -> datetime:
        """The instant of waking on the next day, in UTC: where the night ends."""
        tomorrow = self.day + timedelta(days=1)
        return grid_up(datetime.combine(tomorrow, self.wake, tzinfo=self.zone).astimezone(UTC))

    @property
    def awake_min(self) -> tuple[int, int]:
        """Minutes that the pup is usually awake at a stretch at this age: from, and at most."""
        return awake_minutes(self.age_weeks)

    def instant(self, at: time) -> datetime:
        """Return the instant of a local time of this day, in UTC."""
        return datetime.combine(self.day, at, tzinfo=self.zone).astimezone(UTC)

    def weight(self, rule: str) -> float:
        """Return the weight of a soft rule."""
        return float(self.weights.get(rule, DEFAULT_WEIGHTS[rule]))


def awake_minutes(age_weeks: float) -> tuple[int, int]:
    """Return how long a pup of this age is awake at a stretch, in minutes: from, and at most (from memory)."""
    for below_weeks, minutes in AWAKE_BELOW_WEEKS:
        if age_weeks < below_weeks:
            return minutes
    return AWAKE_LATER


def grid_down(at: datetime) -> datetime:
    """Return the last instant of the 5-minute grid that is not later."""
    return at.replace(minute=at.minute - at.minute % GRID_MIN, second=0, microsecond=0)


def grid_up(at: datetime) -> datetime:
    """Return the first instant of the 5-minute grid that is not earlier."""
    down = grid_down(at)
    return down if down == at else down + GRID


def _wrong_day(frame: DayFrame) -> Iterator[Problem]:
    if not (math.isfinite(frame.age_weeks) and YOUNGEST_WEEKS <= frame.age_weeks <= OLDEST_WEEKS):
        yield Problem(
            "age_weeks",
            "A timetable with naps and outings is for pups of {youngest:.0f} to {oldest:.0f} weeks, and this one is "
            "{given} weeks old; check the date of birth.",
            youngest=YOUNGEST_WEEKS,
            oldest=OLDEST_WEEKS,
            given=frame.age_weeks,
        )
    if frame.wake >= frame.last_outing:
        yield Problem(
            "last_outing",
            "The last outing, {last}, is not later than waking, {wake}; there is no time awake between them.",
            last=_clock(frame.last_outing),
            wake=_clock(frame.wake),
        )
    for where, minutes in (("outing_min", frame.outing_min), ("meal_min", frame.meal_min)):
        if not 1 <= minutes <= 30:
            yield Problem(where, "{given} minutes cannot be; give 1 to 30.", given=minutes)
    for where, minutes in (("play_min", frame.play_min), ("chew_min", frame.chew_min)):
        if not 0 <= minutes <= MOST_PLAY_MIN:
            yield Problem(
                where, "{given} minutes a day cannot be; give 0 to {most}.", given=minutes, most=MOST_PLAY_MIN
            )
    if frame.resident_min is not None and not 0 <= frame.resident_min <= 300:
        yield Problem("resident_min", "{given} minutes a day cannot be; give 0 to 300.", given=frame.resident_min)


def _clock(at: time) -> str:
    return f"{at:%H:%M}"


def _wrong_things(frame: DayFrame) -> Iterator[Problem]:
    if not 1 <= len(frame.meals) <= MOST_MEALS:
        yield Problem(
            "meals",
            "{given} meals a day cannot be planned; a pup eats 3 to 4 times a day, give 1 to {most}.",
            given=len(frame.meals),
            most=MOST_MEALS,
        )
    if any(not (math.isfinite(g) and 0 <= g <= 5000) for meal in frame.meals for g in (meal.bowl_g, meal.pouch_g)):
        yield Problem("meals", "A meal's grams must be numbers from 0 to 5000.")
    if len(frame.sessions) > MOST_SESSIONS:
        yield Problem(
            "sessions",
            "{given} sessions are more than a pup learns from in a day; give {most} at most.",
            given=len(frame.sessions),
            most=MOST_SESSIONS,
        )
    if len(frame.exposures) > MOST_EXPOSURES:
        yield Problem(
            "exposures",
            "{given} exposures are too much for one day; give {most} at most and the others to other days.",
            given=len(frame.exposures),
            most=MOST_EXPOSURES,
        )
    things = [("sessions", s.minutes) for s in frame.sessions] + [("exposures", e.minutes) for e in frame.exposures]
    for where, minutes in things:
        if not 1 <= minutes <= LONGEST_THING_MIN:
            yield Problem(where, "{given} minutes cannot be; give 1 to {most}.", given=minutes, most=LONGEST_THING_MIN)
    for one in frame.appointments:
        if one.start.tzinfo is None or one.end.tzinfo is None:
            yield Problem("appointments", "“{words}” has a time without a time zone.", words=one.words)
        elif one.end <= one.start:
            yield Problem("appointments", "“{words}” ends before it begins; correct its times.", words=one.words)


def _wrong_weights(frame: DayFrame) -> Iterator[Problem]:
    for rule, weight in frame.weights.items():
        if rule not in DEFAULT_WEIGHTS:
            yield Problem(
                "weights",
                "“{rule}” is no rule of the timetable; the rules are {rules}.",
                rule=rule,
                rules=", ".join(DEFAULT_WEIGHTS),
            )
        elif not (math.isfinite(weight) and 0 <= weight <= 1000):
            yield Problem("weights", "The weight of “{rule}” must be a number from 0 to 1000.", rule=rule)


def local(at: datetime, zone: tzinfo) -> str:
    """Return an instant as a time of day for a sentence."""
    return f"{clock.require_aware(at).astimezone(zone):%H:%M}"
