"""When the pup goes out by rule: five minutes after a trigger, soon after an empty trip, a ceiling at any age."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
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


class Trigger(StrEnum):
    """What makes an outing due within minutes. Stored values are fixed for good."""

    WOKE = "woke"
    ATE = "ate"
    DRANK = "drank"
    PLAYED = "played"
    LEFT_CRATE = "left-crate"


ENDS_WAIT = (CareKind.OUTING, CareKind.INDOORS)


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


def due_outings(events: Sequence[CareEvent], *, ceiling_hours: float) -> list[Outing]:
    """Return what a care log asks for by rule, whatever is known of the pup: the earliest counts.

    Five minutes after a trigger since the last outing, a quarter of an hour after an outing with nothing done, and
    never later than the ceiling. An accident indoors counts as the last outing: it emptied the bladder.
    Parameters: events, standing, in the order of time, none later than now; ceiling_hours since the last outing.
    """
    since = 1 + max((n for n, event in enumerate(events) if event.kind in ENDS_WAIT), default=-1)
    due = [
        Outing(event.at + AFTER_TRIGGER, _after_trigger(kind))
        for event in events[since:]
        if (kind := trigger_of(event)) is not None
    ]
    last = events[since - 1] if since else None
    if last is not None and last.detail is CareDetail.NOTHING:
        reason = sentence("Nothing was done at the last outing: try again soon.")
        due.append(Outing(last.at + AFTER_EMPTY_OUTING, reason))
    start = resting_since(events) if last is None else last.at
    if start is not None:
        reason = sentence("Never more than {hours:.1f} h without an outing, asleep or awake.", hours=ceiling_hours)
        due.append(Outing(start + timedelta(hours=ceiling_hours), reason))
    return due


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


def trigger_of(event: CareEvent) -> Trigger | None:
    """Return what an entry of the log means for the next outing, or None."""
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


def resting_since(log: Sequence[CareEvent]) -> datetime | None:
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
