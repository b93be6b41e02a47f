"""How many sessions each day has room for: what the trainer, the pup, the food and the calendar leave."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from math import ceil

from pupilage.core.catalogue.behaviour import Behaviour, Scoring, Step
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.programme.rules import TRIES_A_SESSION, Rule
from pupilage.core.planning.standing import Frame

LEAST_WEEKS = 6.0
"""Below it a pup belongs with its mother and littermates: nothing is planned."""

MINUTES_BELOW_WEEKS = ((8.0, 2), (12.0, 3))
MINUTES_LATER = 5
"""Minutes of a session by age: 1-3 at 8-12 weeks, 3-5 at 12-20 weeks. From memory, trade practice."""

SESSIONS_BELOW_WEEKS = ((8.0, 4), (12.0, 8))
SESSIONS_LATER = 12
"""Sessions and exposures that a pup of an age takes in a day: two an awake block. Common practice, no source."""

LEAST_MINUTES, MOST_MINUTES = 5, 600

EXPOSURE_MINUTES = 10
"""Minutes that an exposure takes of the trainer's day. Common practice, no source."""

VET_SHARE = 0.5
"""What is left of the pup's room on a day with the veterinarian. Common practice, no source."""

SHARE_FOR_TRAINING = 0.5
"""The part of the day's weighed food that may be paid as rewards. Common practice, no source."""


@dataclass(frozen=True)
class Circumstances:
    """What shapes the days beside the frame of the stay.

    days_off: days without any session; minutes_a_day: the trainer's for sessions and exposures, None where nothing is
    said; appointments: minutes taken from them by day; vet_dates; pieces_a_day: rewards that the ration yields, None
    where no ration is entered; exposures_by_day: slots kept for exposures; held_today: sessions held, by behaviour.
    """

    days_off: tuple[date, ...] = ()
    minutes_a_day: int | None = None
    appointments: Mapping[date, int] = field(default_factory=dict)
    vet_dates: tuple[date, ...] = ()
    pieces_a_day: int | None = None
    exposures_by_day: Mapping[date, int] = field(default_factory=dict)
    held_today: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class DayRoom:
    """A day's room. n_sessions: the least of the limits; minutes: of one session; limits: sessions by rule."""

    day: date
    n_sessions: int
    minutes: int
    limits: Mapping[Rule, int]

    @property
    def rule(self) -> Rule:
        """The rule that leaves the least room."""
        return min(self.limits, key=lambda rule: (self.limits[rule], rule.value))


def minutes_problems(minutes_a_day: int | None) -> list[Problem]:
    """Return what is wrong with the minutes a day that a trainer has; None is not limited."""
    if minutes_a_day is None or LEAST_MINUTES <= minutes_a_day <= MOST_MINUTES:
        return []
    return [Problem("minutes_a_day", "Give minutes a day from 5 to 600, or leave it empty where nothing limits them.")]


def session_minutes(age: float) -> int:
    """Return how long a session of a pup of this age (weeks) is."""
    return next((minutes for below, minutes in MINUTES_BELOW_WEEKS if age < below), MINUTES_LATER)


def minutes_of(behaviour: Behaviour, step: Step, usual: int) -> int:
    """Return the minutes of a session at a step: the usual ones, or as long as one try of a long hold lasts."""
    lasts_s = step.criterion.duration_s if behaviour.scoring is Scoring.HOLD else 0.0
    return max(usual, ceil(lasts_s / 60))


def most_sessions(age: float) -> int:
    """Return how many sessions and exposures a pup of this age (weeks) takes in a day."""
    return next((n for below, n in SESSIONS_BELOW_WEEKS if age < below), SESSIONS_LATER)


def rooms_until(frame: Frame, around: Circumstances, *, now: datetime) -> tuple[DayRoom, ...]:
    """Return the room of each day from today to the day before the hand-over.

    Model: the least of the trainer's sessions a day, the minutes less appointments and exposures, what a pup of the
    age takes (half on a day with the veterinarian) less exposures, and the pieces of the ration; none on a day off or
    before the arrival. What has been held today always has room.
    Raises: InvalidInput with every figure that cannot be.
    """
    _require(around)
    today = local_day(now, frame.zone)
    days = [today + timedelta(days=i) for i in range(frame.days_left(now))]
    held = sum(around.held_today.values())
    return tuple(_room(day, frame, around, held if day == today else 0) for day in days)


def _room(day: date, frame: Frame, around: Circumstances, n_held: int) -> DayRoom:
    age = age_weeks(frame.born_on, day)
    minutes, exposures = session_minutes(age), around.exposures_by_day.get(day, 0)
    pup = int(most_sessions(age) * (VET_SHARE if day in around.vet_dates else 1.0)) if age >= LEAST_WEEKS else 0
    limits = {Rule.SESSIONS: frame.sessions_a_day, Rule.PUP: max(0, pup - exposures)}
    if around.minutes_a_day is not None:
        free = around.minutes_a_day - around.appointments.get(day, 0) - EXPOSURE_MINUTES * exposures
        limits[Rule.MINUTES] = max(0, free // minutes)
    if around.pieces_a_day is not None:
        limits[Rule.FOOD] = around.pieces_a_day // TRIES_A_SESSION
    if day in around.days_off:
        limits[Rule.DAYS_OFF] = 0
    if day < frame.arrival_on:
        limits[Rule.ARRIVAL] = 0
    return DayRoom(day, max(n_held, min(limits.values())), minutes, limits)


def _require(around: Circumstances) -> None:
    figures = {
        "minutes_a_day": (around.minutes_a_day or 0,),
        "appointments": tuple(around.appointments.values()),
        "pieces_a_day": (around.pieces_a_day or 0,),
        "exposures_by_day": tuple(around.exposures_by_day.values()),
        "held_today": tuple(around.held_today.values()),
    }
    problems = [
        Problem(where, "{n} cannot be here; give 0 or more.", n=n)
        for where, own in figures.items()
        for n in _below(own)
    ]
    if problems:
        raise InvalidInput(problems)


def _below(figures: Sequence[int]) -> list[int]:
    return [n for n in figures if not n >= 0]


def reward_pieces(daily_food_g: float, piece_g: float) -> int:
    """Return how many pieces the day's weighed food yields for training, the bowl keeping its share.

    Parameters: daily_food_g and piece_g above 0, in grams. Food is never withheld: what is not earned is fed.
    """
    return int(daily_food_g * SHARE_FOR_TRAINING / piece_g)
