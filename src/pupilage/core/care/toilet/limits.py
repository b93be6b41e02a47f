"""The longest that a pup goes without an outing, as the timetable reads it."""

from dataclasses import dataclass

from pupilage.core.errors import InvalidInput, Problem

LONGEST_MIN = 24 * 60

DEFAULT_RISK = 0.05
LEAST_RISK, MOST_RISK = 0.01, 0.20
"""The chance of an accident between two outings that a trainer takes."""


@dataclass(frozen=True)
class OutingLimits:
    """Minutes since the last outing within which the next one must begin, at the risk that the trainer chose.

    awake_min: while the pup is awake and loose; resting_min: in a nap or the crate by day; night_min: asleep at night.
    Raises InvalidInput for a limit below 5 minutes or above a day.
    """

    awake_min: int
    resting_min: int
    night_min: int

    def __post_init__(self) -> None:
        given = {"awake_min": self.awake_min, "resting_min": self.resting_min, "night_min": self.night_min}
        problems = [
            Problem(name, "{given} minutes between two outings cannot be; give 5 to 1440.", given=minutes)
            for name, minutes in given.items()
            if not 5 <= minutes <= LONGEST_MIN
        ]
        if problems:
            raise InvalidInput(problems)
