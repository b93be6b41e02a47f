"""When the pup goes out next: an interval for its age, five minutes after a trigger, a ceiling while it sleeps."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

from pupilage.core import clock
from pupilage.core.care.events import CareDetail, CareEvent, CareKind, standing
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence, sentence

DAYS_PER_MONTH = 30.4375
"""A twelfth of a year of 365.25 days."""

MAX_CONFINEMENT_HOURS = 8.0
"""From memory: no grown dog is left shut in for longer by day; the rule below would allow more from 7 months."""

AFTER_TRIGGER = timedelta(minutes=5)
"""Out within five minutes of waking, eating, drinking or playing (handbook advice, not measured data)."""

AFTER_EMPTY_OUTING = timedelta(minutes=15)
"""Common practice, no source: an outing with nothing done is tried again soon, the pup watched until then."""

AWAKE_MINUTES_BELOW_WEEKS = ((10.0, 45), (12.0, 60), (16.0, 90))
AWAKE_MINUTES_LATER = 120
"""From memory: awake pups go out every 30-60 min at 8-10 weeks, every 1-2 h at 12-16 weeks. At least every two
hours is handbook advice."""


class Trigger(StrEnum):
    """What makes an outing due within minutes. Stored values are fixed for good."""

    WOKE = "woke"
    ATE = "ate"
    DRANK = "drank"
    PLAYED = "played"
    LEFT_CRATE = "left-crate"


ENDS_REST = (Trigger.WOKE, Trigger.LEFT_CRATE)
"""The interval of a pup that is awake does not run while it sleeps."""


@dataclass(frozen=True)
class Outing:
    """When the next outing is due (in the past when it is overdue), and why."""

    at: datetime
    reason: Sentence


def max_confinement_hours(age_weeks: float) -> float:
    """Return the most hours that a pup of this age is left shut in by day: a ceiling, not a plan.

    Model: age in months + 1, a month being 30.4375 days; never more than 8.
    Parameters: age_weeks, 0 or more.
    Raises: InvalidInput for an age that is none.
    Source: a rule of thumb of many handbooks, not measured data; values in tests/external/test_confinement.py.
    """
    _require_age(age_weeks)
    return min(MAX_CONFINEMENT_HOURS, age_weeks * 7.0 / DAYS_PER_MONTH + 1.0)


def awake_interval(age_weeks: float) -> timedelta:
    """Return the time between outings of a pup that is awake (from memory; see AWAKE_MINUTES_BELOW_WEEKS)."""
    _require_age(age_weeks)
    for below_weeks, minutes in AWAKE_MINUTES_BELOW_WEEKS:
        if age_weeks < below_weeks:
            return timedelta(minutes=minutes)
    return timedelta(minutes=AWAKE_MINUTES_LATER)


def due_outing(
    now: datetime,
    *,
    age_weeks: float,
    last_outing_at: datetime | None,
    triggers: Sequence[tuple[Trigger, datetime]] = (),
    resting_since: datetime | None = None,
    last_was_empty: bool = False,
) -> Outing:
    """Return when the pup goes out next: the earliest of what its log asks for.

    Parameters: last_outing_at, the last outing or accident; triggers, what happened and when (those before the last
    outing are done with); resting_since, the start of a nap or of crate time that goes on, else None;
    last_was_empty, whether nothing was done at the last outing.
    Raises: InvalidInput for an instant without a zone or an age that is none.
    """
    now = clock.require_aware(now, "now")
    if last_outing_at is None and resting_since is None:
        _require_age(age_weeks)
        return Outing(now, sentence("No outing logged yet: take the pup out now."))
    last = None if last_outing_at is None else clock.require_aware(last_outing_at, "last_outing_at")
    since = [
        (kind, at)
        for kind, at in ((kind, clock.require_aware(at, "triggers")) for kind, at in triggers)
        if last is None or at > last
    ]
    due = [Outing(at + AFTER_TRIGGER, _after_trigger(kind)) for kind, at in since]
    if last is not None and last_was_empty:
        reason = sentence("Nothing was done at the last outing: try again soon.")
        due.append(Outing(last + AFTER_EMPTY_OUTING, reason))
    if resting_since is not None:
        rests = clock.require_aware(resting_since, "resting_since")
        due.append(_at_the_latest(age_weeks, last or rests))
    elif last is not None:
        due.append(_awake(age_weeks, max([last, *(at for kind, at in since if kind in ENDS_REST)])))
    return min(due, key=lambda outing: outing.at)


def _at_the_latest(age_weeks: float, since: datetime) -> Outing:
    hours = max_confinement_hours(age_weeks)
    reason = sentence(
        "Resting: out on waking, and after {hours:.1f} h since the last outing at the latest.", hours=hours
    )
    return Outing(since + timedelta(hours=hours), reason)


def _awake(age_weeks: float, since: datetime) -> Outing:
    interval = awake_interval(age_weeks)
    reason = sentence(
        "Awake at {age} weeks: out every {minutes} minutes.",
        age=math.floor(age_weeks),
        minutes=interval // timedelta(minutes=1),
    )
    return Outing(since + interval, reason)


def _after_trigger(kind: Trigger) -> Sentence:
    match kind:
        case Trigger.WOKE:
            return sentence("The pup has woken: out within 5 minutes.")
        case Trigger.ATE:
            return sentence("The pup has eaten: out within 5 minutes.")
        case Trigger.DRANK:
            return sentence("The pup has drunk: out within 5 minutes.")
        case Trigger.PLAYED:
            return sentence("The pup has played: out within 5 minutes.")
        case Trigger.LEFT_CRATE:
            return sentence("The pup has left the crate: out within 5 minutes.")


def next_outing(events: Sequence[CareEvent], *, born_on: date, zone: tzinfo, now: datetime) -> Outing:
    """Return when the pup goes out next, from its care log; entries that were taken back do not count.

    Parameters: born_on and zone give the age today. An accident indoors counts as the last outing: it emptied the
    bladder.
    Raises: InvalidInput for a date of birth after today, or as `due_outing`.
    """
    log = standing(list(events))
    emptied = [event for event in log if event.kind in (CareKind.OUTING, CareKind.INDOORS)]
    last = emptied[-1] if emptied else None
    triggers = [(kind, event.at) for event in log if (kind := _trigger_of(event)) is not None]
    return due_outing(
        now,
        age_weeks=clock.age_weeks(born_on, clock.local_day(now, zone)),
        last_outing_at=last.at if last else None,
        triggers=triggers,
        resting_since=_resting_since(log),
        last_was_empty=last is not None and last.detail is CareDetail.NOTHING,
    )


def _trigger_of(event: CareEvent) -> Trigger | None:
    match event.kind, event.detail:
        case CareKind.NAP, CareDetail.END:
            return Trigger.WOKE
        case CareKind.CRATE, CareDetail.END:
            return Trigger.LEFT_CRATE
        case CareKind.MEAL, _:
            return Trigger.ATE
        case CareKind.DRINK, _:
            return Trigger.DRANK
        case CareKind.PLAY, CareDetail.END | CareDetail.PLAIN:
            return Trigger.PLAYED
    return None


def _resting_since(log: Sequence[CareEvent]) -> datetime | None:
    """Return the start of the nap or crate time that goes on, or None; an outing ends both."""
    since: dict[CareKind, datetime] = {}
    for event in log:
        if event.kind in (CareKind.NAP, CareKind.CRATE):
            if event.detail is CareDetail.START:
                since.setdefault(event.kind, event.at)
            else:
                since.pop(event.kind, None)
        elif event.kind is CareKind.OUTING:
            since.clear()
    return min(since.values(), default=None)


def _require_age(age_weeks: float) -> None:
    if not (math.isfinite(age_weeks) and age_weeks >= 0.0):
        raise InvalidInput.of("age_weeks", "{given} weeks is no age; check the date of birth.", given=age_weeks)
