"""The chance of an accident as time goes on, and the minute at which it reaches a risk."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp

import numpy as np

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.care.toilet import opportunity
from pupilage.core.care.toilet.curve import CELLS, Curve, Doing, Need, Span
from pupilage.core.care.toilet.diary import minutes_of
from pupilage.core.care.toilet.hazards import Hazards
from pupilage.core.care.toilet.limits import LONGEST_MIN, OutingLimits
from pupilage.core.care.toilet.opportunity import Wait
from pupilage.core.care.toilet.rates import require_risk, time_at_risk
from pupilage.core.care.toilet.record import NeedRecord, ToiletRecord

LONGEST_AHEAD_MIN = 720.0
STEP_DOWN_MIN = 5
NIGHT_CEILING_MIN = 480


@dataclass(frozen=True)
class Stage:
    """A stretch ahead in which nothing changes. start_min: from the last entry; expected: of each need at its start."""

    start_min: float
    doing: Doing
    curve: Curve
    times: dict[Need, float]
    expected: dict[Need, float]


@dataclass(frozen=True)
class Waiting:
    """A need whose last elimination is known. anchor: the log chance of having waited until the last outing."""

    hazards: Hazards
    wait: Wait
    anchor: float
    since_min: float
    exposure: tuple[float, ...]
    cell_means: tuple[float, ...]


class Ahead:
    """What is to come if the pup goes on doing what it does, from the last entry of its log."""

    def __init__(self, record: ToiletRecord) -> None:
        self.waiting = {need: found for need, one in record.needs.items() if (found := _waiting(one)) is not None}
        self.from_min = record.diary.at_min
        self.stages = self._stages(record)
        self.starts = [stage.start_min for stage in self.stages]

    def p_accident(self, minutes: float) -> float:
        """Return the chance of an accident between the last outing and so many minutes after the last entry."""
        log_dry = 0.0
        for need, one in self.waiting.items():
            log_now = opportunity.log_waiting(one.hazards, one.wait, self._expected(need, minutes))
            log_dry += min(0.0, float(log_now) - one.anchor)
        return 1.0 - exp(log_dry)

    def minutes_at(self, risk: float) -> float | None:
        """Return the minutes after the last entry at which the chance reaches a risk; 0 where it had before.

        None where no elimination is known, or where half a day does not bring it.
        Raises: InvalidInput for a risk that is none.
        """
        require_risk(risk)
        if not self.waiting or self.p_accident(LONGEST_AHEAD_MIN) <= risk:
            return None
        return time_at_risk(self.p_accident, risk, longest_min=LONGEST_AHEAD_MIN)

    def _expected(self, need: Need, minutes: float) -> float:
        stage, one = self.stages[bisect_right(self.starts, minutes) - 1], self.waiting[need]
        cells = [0.0] * len(CELLS)
        began = self.from_min - one.since_min
        span = Span(began + stage.start_min, began + minutes, stage.times[need])
        stage.curve.add_exposure(cells, need, stage.doing, span)
        return stage.expected[need] + _dot(one.cell_means, cells)

    def _stages(self, record: ToiletRecord) -> list[Stage]:
        diary, stages = record.diary.copy(), []
        exposure = {need: list(one.exposure) for need, one in self.waiting.items()}
        clocks = {need: one.since_min for need, one in self.waiting.items()}
        while diary.at_min <= self.from_min + LONGEST_AHEAD_MIN:
            doing = diary.doing()
            expected = {need: _dot(one.cell_means, exposure[need]) for need, one in self.waiting.items()}
            times = {need: diary.times(need) if doing is Doing.AWAKE else 1.0 for need in self.waiting}
            stages.append(Stage(diary.at_min - self.from_min, doing, diary.curve(), times, expected))
            diary.advance(diary.next_change(), clocks, exposure)
        return stages


def _waiting(one: NeedRecord) -> Waiting | None:
    if one.wait is None or one.at_outing is None:
        return None
    hazards, then = one.hazards, one.at_outing
    anchor = float(opportunity.log_waiting(hazards, then, hazards.expected(then.exposure)))
    return Waiting(hazards, one.wait, anchor, one.since_min, tuple(one.exposure), tuple(hazards.cells.mean.tolist()))


def _dot(means: Sequence[float], cells: Sequence[float]) -> float:
    return sum(mean * cell for mean, cell in zip(means, cells, strict=True) if cell)


def p_fresh(record: ToiletRecord, doing: Doing, minutes: float) -> float:
    """Return the chance of an accident in so many minutes after an outing at which the pup emptied itself.

    doing: what it does all the while, nothing else having happened (no meal, no waking).
    """
    curve, log_dry = record.diary.curve(), 0.0
    for need, one in record.needs.items():
        cells = [0.0] * len(CELLS)
        curve.add_exposure(cells, need, doing, Span(0.0, minutes))
        log_dry += float(one.hazards.log_survival(float(one.hazards.expected(np.array(cells)))))
    return 1.0 - exp(log_dry)


def safe_minutes(record: ToiletRecord, doing: Doing, risk: float) -> float:
    """Return the minutes after a successful outing at which the chance of an accident reaches a risk.

    Raises: InvalidInput for a risk that is none.
    """
    return time_at_risk(lambda minutes: p_fresh(record, doing, minutes), risk, longest_min=float(LONGEST_MIN))


def outing_limits_at(record: ToiletRecord, risk: float, *, at: datetime) -> OutingLimits:
    """Return `outing_limits` as they would be at a later age, should the log tell nothing more until then.

    The pup's own habits stay as they are known; the pooled curve moves on with its age.
    Raises: InvalidInput for a risk that is none.
    """
    return outing_limits(replace(record, diary=replace(record.diary.copy(), at_min=minutes_of(at))), risk)


def outing_limits(record: ToiletRecord, risk: float) -> OutingLimits:
    """Return the longest times between outings for the timetable, rounded down to 5 minutes, 5 at least.

    By day never more than the confinement rule of thumb, at night never more than 8 hours. Both needs count, as if
    the pup had done both at the last outing; meals and naps ask for outings of their own.
    Raises: InvalidInput for a risk that is none.
    """
    ceiling = int(60.0 * max_confinement_hours(record.diary.curve().age_weeks))
    most = {Doing.AWAKE: ceiling, Doing.RESTING: ceiling, Doing.NIGHT: NIGHT_CEILING_MIN}
    found = {doing: min(int(safe_minutes(record, doing, risk)), most[doing]) for doing in Doing}
    steps = {doing: max(STEP_DOWN_MIN, minutes - minutes % STEP_DOWN_MIN) for doing, minutes in found.items()}
    return OutingLimits(awake_min=steps[Doing.AWAKE], resting_min=steps[Doing.RESTING], night_min=steps[Doing.NIGHT])
