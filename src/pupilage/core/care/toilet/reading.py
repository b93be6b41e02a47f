"""All that is said of a pup's outings in one piece: for a page, the command line and the timetable."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from pupilage.core.care.confinement import Outing
from pupilage.core.care.events import CareEvent
from pupilage.core.care.toilet.curve import Doing, Need
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.care.toilet.next_outing import next_outing
from pupilage.core.care.toilet.outlook import outing_limits, p_fresh
from pupilage.core.care.toilet.progress import Progress, progress_of
from pupilage.core.care.toilet.record import read_log

CURVE_MIN = (*range(0, 120, 10), *range(120, 301, 20))


@dataclass(frozen=True)
class CurveLine:
    """The chance of an accident by so many minutes after a successful outing, while the pup does one thing."""

    doing: Doing
    points: tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class ToiletReading:
    """What a log says. prior_share: by need, the share of what is known that is still the curve for the age."""

    risk: float
    outing: Outing
    limits: OutingLimits
    curve: tuple[CurveLine, ...]
    prior_share: dict[Need, float]
    n_outings: int
    n_later: int
    progress: Progress


def read_toilet(
    events: Sequence[CareEvent], *, born_on: date, zone: tzinfo, now: datetime, risk: float
) -> ToiletReading:
    """Return all that a care log says about a pup's outings.

    Raises: InvalidInput for an age without a curve, a risk that is none, or an instant without a zone.
    """
    record = read_log(events, born_on=born_on, zone=zone, now=now)
    curve = [
        CurveLine(doing, tuple((minutes, p_fresh(record, doing, float(minutes))) for minutes in CURVE_MIN))
        for doing in Doing
    ]
    return ToiletReading(
        risk=risk,
        outing=next_outing(events, born_on=born_on, zone=zone, now=now, risk=risk),
        limits=outing_limits(record, risk),
        curve=tuple(curve),
        prior_share={need: record.prior_share(need) for need in Need},
        n_outings=record.n_outings,
        n_later=record.n_later,
        progress=progress_of(events, born_on=born_on, zone=zone, now=now, risk=risk),
    )
