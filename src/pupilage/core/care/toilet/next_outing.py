"""When the pup goes out next: the earliest of the rules and of the model's time at the risk that the trainer chose."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta, tzinfo

from pupilage.core import clock
from pupilage.core.care.confinement import (
    ENDS_WAIT,
    MAX_CONFINEMENT_HOURS,
    Outing,
    due_outings,
    max_confinement_hours,
    resting_since,
)
from pupilage.core.care.events import CareEvent, standing
from pupilage.core.care.toilet.curve import Need
from pupilage.core.care.toilet.diary import NIGHT_FROM, NIGHT_TO, instant_of
from pupilage.core.care.toilet.limits import DEFAULT_RISK
from pupilage.core.care.toilet.outlook import Ahead
from pupilage.core.care.toilet.record import ToiletRecord, has_curve, read_log
from pupilage.core.words import Sentence, sentence


def next_outing(
    events: Sequence[CareEvent],
    *,
    born_on: date,
    zone: tzinfo,
    now: datetime,
    risk: float = DEFAULT_RISK,
) -> Outing:
    """Return when the pup goes out next, from its care log; entries taken back or in the future do not count.

    Where the age has no curve (`record.has_curve`), the rules alone count.
    Raises: InvalidInput for a birth after today, a risk that is none, or an instant without a zone.
    """
    now = clock.require_aware(now, "now")
    age = clock.age_weeks(born_on, clock.local_day(now, zone))
    log = [event for event in standing(list(events)) if event.at <= now]
    due = due_outings(log, ceiling_hours=_ceiling_hours(log, age, zone))
    if has_curve(age):
        record = read_log(log, born_on=born_on, zone=zone, now=now)
        minutes = Ahead(record).minutes_at(risk)
        if minutes is not None:
            at = instant_of(record.diary.at_min + minutes)
            due.append(Outing(at, _reason(record, at.astimezone(zone), risk)))
    if not due:
        return Outing(now, sentence("No outing logged yet: take the pup out now."))
    return min(due, key=lambda outing: outing.at)


def _reason(record: ToiletRecord, at: datetime, risk: float) -> Sentence:
    figures: dict[str, str | int | float] = {"n": record.n_outings, "p": risk, "time": f"{at:%H:%M}"}
    if record.prior_share(Need.WEE) > 0.5:
        return sentence(
            "By what is usual at its age (outings so far: {n}), the chance of an accident reaches {p:.0%} at {time}.",
            **figures,
        )
    return sentence("By what {n} outings have shown, the chance of an accident reaches {p:.0%} at {time}.", **figures)


def _ceiling_hours(log: Sequence[CareEvent], age_weeks: float, zone: tzinfo) -> float:
    """Return the rule of thumb's hours; at night, while the pup sleeps, the most that any dog is left."""
    hours = max_confinement_hours(age_weeks)
    resting = resting_since(log)
    if resting is None:
        return hours
    since = max((event.at for event in log if event.kind in ENDS_WAIT), default=resting)
    ends = (since + timedelta(hours=hours)).astimezone(zone).time()
    return MAX_CONFINEMENT_HOURS if ends >= NIGHT_FROM or ends < NIGHT_TO else hours
