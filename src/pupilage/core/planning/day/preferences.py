"""How a trainer wants the days of a stay to run: when they begin and end, when it is quiet, when the pup eats."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from itertools import pairwise
from typing import Any

from pupilage.core.errors import InvalidInput, Problem

Span = tuple[time, time]
"""From and until, on the clock on the wall."""

MAX_WEIGHT = 1000.0
MAX_RESIDENT_MIN = 240
MAX_MEALS = 6
MIN_DAY_MIN = 6 * 60
"""A day of fewer minutes between waking and the last outing has no room for a pup's meals and naps."""


@dataclass(frozen=True)
class DayPreferences:
    """The usual day. meals: the usual times, none for times spread by the pup's age; resident_min: minutes a day for
    the dog that lives there; weights: by the key of a soft rule, 0 (it does not matter) to 1000, the rest as shipped.

    Raises InvalidInput with every problem at once.
    """

    wake: time = time(6, 30)
    last_outing: time = time(22, 30)
    quiet: tuple[Span, ...] = ()
    meals: tuple[time, ...] = ()
    resident_min: int = 30
    weights: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        problems = _day_problems(self) + _meal_problems(self) + _other_problems(self)
        if problems:
            raise InvalidInput(problems)

    def to_json(self) -> dict[str, Any]:
        """Return the preferences in JSON's types."""
        return {
            "wake": _written(self.wake),
            "last_outing": _written(self.last_outing),
            "quiet": [[_written(start), _written(end)] for start, end in self.quiet],
            "meals": [_written(at) for at in self.meals],
            "resident_min": self.resident_min,
            "weights": dict(self.weights),
        }


def read_preferences(stored: Mapping[str, Any]) -> DayPreferences:
    """Return what `to_json` wrote; what it does not hold is as shipped. Raises InvalidInput for no time of day."""
    plain = DayPreferences()
    return DayPreferences(
        wake=_read(stored["wake"]) if "wake" in stored else plain.wake,
        last_outing=_read(stored["last_outing"]) if "last_outing" in stored else plain.last_outing,
        quiet=tuple((_read(start), _read(end)) for start, end in stored.get("quiet", ())),
        meals=tuple(_read(at) for at in stored.get("meals", ())),
        resident_min=int(stored.get("resident_min", plain.resident_min)),
        weights={str(key): float(weight) for key, weight in stored.get("weights", {}).items()},
    )


def _written(at: time) -> str:
    return at.strftime("%H:%M")


def _read(text: str) -> time:
    try:
        return time.fromisoformat(text)
    except ValueError as error:
        raise InvalidInput.of("", "“{text}” is no time of day; give one such as 06:30.", text=text) from error


def minute_of(at: time) -> int:
    """Return the minutes after midnight on the clock on the wall."""
    return 60 * at.hour + at.minute


def _day_problems(given: DayPreferences) -> list[Problem]:
    minutes = minute_of(given.last_outing) - minute_of(given.wake)
    if minutes >= MIN_DAY_MIN:
        return []
    return [
        Problem(
            "last_outing",
            "From {wake} to {last} is too short a day; let at least six hours lie between them, before midnight.",
            wake=_written(given.wake),
            last=_written(given.last_outing),
        )
    ]


def _meal_problems(given: DayPreferences) -> list[Problem]:
    problems = [
        Problem("meals", "A meal at {at} would be in the pup's night; give a time in its day.", at=_written(at))
        for at in given.meals
        if not given.wake <= at <= given.last_outing
    ]
    if len(given.meals) > MAX_MEALS:
        problems.append(Problem("meals", "{n} meals a day are too many; give up to 6.", n=len(given.meals)))
    problems += [
        Problem("meals", "Two meals less than an hour apart ({first}, {second}); move one.", first=a, second=b)
        for (a, b, gap) in (
            (_written(first), _written(second), minute_of(second) - minute_of(first))
            for first, second in pairwise(sorted(given.meals))
        )
        if gap < 60
    ]
    return problems


def _other_problems(given: DayPreferences) -> list[Problem]:
    problems = [
        Problem(
            "quiet",
            "Quiet from {start} until {end} ends before it begins; give the earlier time first.",
            start=_written(start),
            end=_written(end),
        )
        for start, end in given.quiet
        if start >= end
    ]
    if not 0 <= given.resident_min <= MAX_RESIDENT_MIN:
        problems.append(
            Problem("resident_min", "{n} minutes for the other dog cannot be; give 0 to 240.", n=given.resident_min)
        )
    problems += [
        Problem(f"weights.{rule}", "A weight of {given:g} cannot be; give 0 to 1000.", given=weight)
        for rule, weight in given.weights.items()
        if not 0 <= weight <= MAX_WEIGHT
    ]
    return problems
