"""The absences of the stay: as proposed, at the beginning of naps, by a pup whose tolerance grows."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from math import exp

from numpy.random import Generator

from pupilage.core.clock import age_weeks
from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, told_by
from pupilage.core.incidents.alone import Sign, next_absence
from pupilage.core.simulation.chance import between, draw_id, happens, pick
from pupilage.core.simulation.left_alone import Nature
from pupilage.core.simulation.scenario import ScenarioDog
from pupilage.core.simulation.stay import Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

A_DAY = 4
FROM_DAY = 1
"""Not on the day of arrival."""

DEMO_NATURE = Nature(scale_s=75.0, shape=1.6, gain=0.16, loss=0.15)
P_SECOND_SIGN = 0.4


def write_absences(
    days: Sequence[Sequence[Activity]], pup: ScenarioDog, stay: Stay, rng: Generator
) -> list[AbsenceRecord]:
    """Return up to four absences a day in time order, none that would end after now."""
    records: list[AbsenceRecord] = []
    scale_s = DEMO_NATURE.scale_s
    for number, activities in enumerate(days):
        naps = [one for one in activities if one.kind is ActivityKind.NAP and one.end_min - one.start_min > 20.0]
        for nap in naps[:A_DAY] if number >= FROM_DAY else ():
            at = stay.instant(number, nap.start_min + between(rng, 1.0, 3.0))
            age = age_weeks(pup.born_on, stay.day(number))
            planned_s = next_absence(told_by(records), age_weeks=age).seconds or 1.0
            planned_s = min(planned_s * between(rng, 0.95, 1.1), 900.0)
            until_sign_s = scale_s * float(rng.weibull(DEMO_NATURE.shape))
            signs = _signs(until_sign_s, planned_s, rng)
            scale_s *= exp(-DEMO_NATURE.loss if signs else DEMO_NATURE.gain * min(1.0, planned_s / scale_s))
            record = _record(at, round(planned_s, 1), signs, rng)
            if at + timedelta(seconds=record.away_s) <= stay.now:
                records.append(record)
    return records


def _signs(until_sign_s: float, planned_s: float, rng: Generator) -> tuple[SignAt, ...]:
    if until_sign_s >= planned_s:
        return ()
    first = SignAt(Sign.WHINING, round(max(0.5, until_sign_s), 1))
    later_s = until_sign_s + between(rng, 4.0, 20.0)
    if later_s >= planned_s or not happens(rng, P_SECOND_SIGN):
        return (first,)
    return (first, SignAt(pick(rng, (Sign.BARKING, Sign.SCRATCHING)), round(later_s, 1)))


def _record(at: datetime, away_s: float, signs: tuple[SignAt, ...], rng: Generator) -> AbsenceRecord:
    return AbsenceRecord(
        id=draw_id(rng),
        at=at,
        away_s=max(away_s, max((one.at_s or 0.0 for one in signs), default=1.0)),
        signs=signs,
        spot=Spot.PEN,
        had=(Had.CHEW,) if happens(rng, 0.6) else (),
        state=(State.BEEN_OUT, State.DROWSY),
    )
