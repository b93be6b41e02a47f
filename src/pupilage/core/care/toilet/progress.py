"""How far a pup is on its way to staying dry, with what the record does not prove."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from pupilage.core.care.events import CareDetail, CareEvent, CareKind, standing
from pupilage.core.care.toilet.curve import Doing
from pupilage.core.care.toilet.outlook import safe_minutes
from pupilage.core.care.toilet.record import read_log
from pupilage.core.clock import day_bounds, local_day, require_aware
from pupilage.core.garwood import rate_limits
from pupilage.core.training.posterior.intervals import wilson
from pupilage.core.words import Sentence, sentence

RELAX_AFTER_DAYS = 30
"""About one month without an accident before supervision is relaxed (handbook advice)."""

DAYS_A_WEEK = 7


@dataclass(frozen=True)
class Week:
    """Seven days of the log, the last maybe unfinished. The safe minutes are as they stood at its end."""

    from_day: date
    n_outdoors: int
    n_empty: int
    n_accidents: int
    awake_min: float
    resting_min: float
    night_min: float


@dataclass(frozen=True)
class Progress:
    """What the log shows. dry_days: whole days with entries since the last accident, or since the log began.

    most_a_day: the rate of accidents that so many dry days still allow, None before the first is over; outdoors: the
    share of eliminations that came outdoors, with its 95 % interval, None without any.
    """

    n_outdoors: int
    n_accidents: int
    dry_days: int
    most_a_day: float | None
    outdoors: tuple[float, float, float] | None
    weeks: tuple[Week, ...]
    dry: Sentence
    supervision: Sentence


def progress_of(events: Sequence[CareEvent], *, born_on: date, zone: tzinfo, now: datetime, risk: float) -> Progress:
    """Return how far a pup is, from its care log; entries taken back or in the future do not count.

    Raises: InvalidInput as `read_log` does, or for a risk that is none.
    """
    now = require_aware(now, "now")
    log = [event for event in standing(list(events)) if event.at <= now]
    outdoors = [event for event in log if event.kind is CareKind.OUTING and event.detail is not CareDetail.NOTHING]
    accidents = [event for event in log if event.kind is CareKind.INDOORS]
    dry_days = _dry_days(log, accidents, zone, now)
    most = rate_limits(0, float(dry_days))[1] if dry_days else None
    n, n_in = len(outdoors), len(accidents)
    share = (n / (n + n_in), *wilson(n, n + n_in)) if n + n_in else None
    return Progress(
        n_outdoors=n,
        n_accidents=n_in,
        dry_days=dry_days,
        most_a_day=most,
        outdoors=share,
        weeks=tuple(_weeks(log, born_on=born_on, zone=zone, now=now, risk=risk)),
        dry=_dry_words(dry_days, most, any_accident=bool(accidents), any_entry=bool(log)),
        supervision=_supervision_words(dry_days),
    )


def _dry_days(log: Sequence[CareEvent], accidents: Sequence[CareEvent], zone: tzinfo, now: datetime) -> int:
    """Return how many days are over, since the last accident, on which an outing was written down."""
    today = local_day(now, zone)
    since = local_day(accidents[-1].at, zone) if accidents else date.min
    days = {local_day(event.at, zone) for event in log if event.kind is CareKind.OUTING}
    return sum(since < day < today for day in days)


def _weeks(log: Sequence[CareEvent], *, born_on: date, zone: tzinfo, now: datetime, risk: float) -> list[Week]:
    if not log:
        return []
    found, first = [], local_day(log[0].at, zone)
    while first <= local_day(now, zone):
        after = first + timedelta(days=DAYS_A_WEEK)
        start, end = day_bounds(first, zone)[0], min(day_bounds(after, zone)[0], now)
        known = read_log([event for event in log if event.at <= end], born_on=born_on, zone=zone, now=end)
        safe = {doing: safe_minutes(known, doing, risk) for doing in Doing}
        week = [event for event in log if start <= event.at <= end]
        outings = [event for event in week if event.kind is CareKind.OUTING]
        n_empty = sum(event.detail is CareDetail.NOTHING for event in outings)
        n_accidents = sum(event.kind is CareKind.INDOORS for event in week)
        minutes = safe[Doing.AWAKE], safe[Doing.RESTING], safe[Doing.NIGHT]
        found.append(Week(first, len(outings) - n_empty, n_empty, n_accidents, *minutes))
        first = after
    return found


def _dry_words(dry_days: int, most: float | None, *, any_accident: bool, any_entry: bool) -> Sentence:
    if not any_entry:
        return sentence("Nothing is logged yet, so nothing is known.")
    if most is None:
        if any_accident:
            return sentence("No whole day without an accident yet since the last one.")
        return sentence("No accident logged yet, but the first day is not over.")
    return sentence(
        "No accident for {n} days. That does not prove that none will come: up to {rate:.2f} a day would still fit it, "
        "one in {every:.0f} days (95 % limit).",
        n=dry_days,
        rate=most,
        every=max(1.0, 1.0 / most),
    )


def _supervision_words(dry_days: int) -> Sentence:
    if dry_days >= RELAX_AFTER_DAYS:
        return sentence(
            "About a month without an accident: crate and supervision may be relaxed, one room and one hour at a time."
        )
    return sentence(
        "Crate and supervision stay as they are until about a month without an accident: {n} days more at the least.",
        n=RELAX_AFTER_DAYS - dry_days,
    )
